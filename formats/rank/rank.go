package rank

import (
	"fmt"
	"math"
	"slices"
	"sync"

	"github.com/cardtell/cardtell/formats"
)

// Ranker ranks readings of cards over a catalogue. It is immutable; share it freely.
type Ranker struct {
	models []formatModel // in the catalogue's order, then the site's populations
	byLen  map[int][]int // positions in models
	cat    formats.Catalogue
	site   []formats.Population
	stripe []*formats.Format        // track 2, of every length
	faults [len(faultPrior)]float64 // logs of the priors
	spare  sync.Pool                // of *work, whose memory serves the next ranking
}

// New makes a Ranker of a catalogue and of what a site is known to use, if anything. The error says which population names a
// format that the catalogue does not have.
func New(cat formats.Catalogue, site ...formats.Population) (*Ranker, error) {
	r := &Ranker{cat: cat, stripe: cat.Find(stripeID), byLen: map[int][]int{}, site: slices.Clone(site)}
	for i, p := range faultPrior {
		r.faults[i] = math.Log(p)
	}
	total := 0.0
	for i := range cat.Len() {
		total += cat.At(i).Weight
	}
	anywhere := 1 - unknownPrior
	if len(site) > 0 {
		anywhere *= 1 - sitePrior
	}
	for i := range cat.Len() {
		f := cat.At(i)
		r.add(formatModel{format: f, log: math.Log(anywhere * f.Weight / total), fields: modelFields(f), forms: options(f), fixed: patternOf(f.Layout)})
	}
	for i := range site {
		if err := r.expect(&site[i], (1-unknownPrior)*sitePrior/float64(len(site))); err != nil {
			return nil, err
		}
	}
	return r, nil
}

func (r *Ranker) add(m formatModel) {
	n := m.format.Layout.Len()
	r.byLen[n] = append(r.byLen[n], len(r.models))
	r.models = append(r.models, m)
}

// expect adds the model of a population beside the one of its format at large: the format once more, with the values and the
// print that its cards have. So a card that is on the site's list is told at once, and one that is not is judged as it would
// be anywhere.
func (r *Ranker) expect(p *formats.Population, weight float64) error {
	found := r.cat.Find(p.Format)
	if len(found) == 0 {
		return fmt.Errorf("site: no format %q in the catalogue", p.Format)
	}
	for _, f := range found {
		m := formatModel{
			format: f, log: math.Log(weight / float64(len(found))), fields: modelFields(f), forms: options(f), fixed: patternOf(f.Layout),
		}
		for i := range m.fields {
			switch {
			case i == f.Facility() && p.Facilities != nil:
				for _, v := range p.Facilities {
					m.fields[i].usual = append(m.fields[i].usual, formats.Range{First: v, Last: v})
				}
			case i == f.Number():
				m.fields[i].usual = p.Numbers
			}
		}
		for i := range m.forms {
			if o := &m.forms[i]; o.part == nil && p.Printed != "" {
				o.log += math.Log(1 - sitePrior)
				if o.form.Name == p.Printed {
					o.log = logAdd(o.log, math.Log(sitePrior))
				}
			}
		}
		r.add(m)
	}
	return nil
}

// Answer is the posterior over every reading of the cards.
type Answer struct {
	Candidates []Candidate // most probable first
	Unknown    float64     // probability that no format of the catalogue is right; with the candidates' it adds up to 1
	Warnings   []string    // what to be careful about, whatever the format
}

// Candidate is one reading: a format, a fault, and what the cards are then.
type Candidate struct {
	Format      *formats.Format
	Fault       Fault
	Probability float64
	Cards       []formats.Card // one for each card asked about; without a format where the card tells nothing
	Repairs     []Repair       // one for each card: what is wrong with its read
	Printed     []string       // for each kind of sighting beside the reads, how it follows from the cards; "" where it does not
}

// CardError says which of the cards asked about is at fault.
type CardError struct {
	Card   int    // its place, from 1
	Reason string // what is wrong, and what would do
}

// Error returns the card and the reason in one line.
func (e *CardError) Error() string { return fmt.Sprintf("card %d: %s", e.Card, e.Reason) }

// Rank answers for cards of one site. The error is a [*CardError] for a card with no sighting or with two different reads;
// no cards at all are an error too.
func (r *Ranker) Rank(cards []formats.Sightings) (Answer, error) {
	var ans Answer
	err := r.RankInto(&ans, cards)
	return ans, err
}

// RankInto is Rank for one question after another: it overwrites an answer and uses its memory again, so that a read that gives
// no warning costs no allocation. On an error the answer is empty.
func (r *Ranker) RankInto(ans *Answer, cards []formats.Sightings) error {
	ans.Candidates, ans.Unknown, ans.Warnings = ans.Candidates[:0], 0, nil
	return r.with(cards, func(w *work) { w.answer(ans) })
}

// evidence returns the log of the joint probability of the cards, over all readings and none.
func (r *Ranker) evidence(cards []formats.Sightings) (log float64, err error) {
	err = r.with(cards, func(w *work) {
		_, total, top := w.weigh()
		log = top + math.Log(total)
	})
	return log, err
}

// with scores all readings of cards for use.
func (r *Ranker) with(cards []formats.Sightings, use func(*work)) error {
	w, _ := r.spare.Get().(*work)
	if w == nil {
		w = new(work)
	}
	defer r.spare.Put(w)
	w.ranker = r
	if err := r.digest(&w.q, cards); err != nil {
		return err
	}
	w.all()
	use(w)
	return nil
}
