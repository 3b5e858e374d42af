package rank

import (
	"fmt"
	"maps"
	"math"
	"math/rand/v2"
	"slices"
	"sort"
	"strings"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/wiegand"
)

// Settle is an observation that would tell the leading candidates apart.
type Settle struct {
	What  string  // what to look at
	Shows string  // what each candidate would show
	Bits  float64 // expected information about which candidate is right, in bits
}

// String returns the observation and what it would show in one line.
func (s Settle) String() string {
	if s.Shows == "" {
		return s.What
	}
	return s.What + ": " + s.Shows
}

const (
	settled     = 0.995 // a first candidate this probable needs no more
	leading     = 4     // how many candidates are told apart
	leadingFrom = 0.002 // least probability of one of them
	telling     = 0.01  // least information that is worth mentioning, in bits
	samples     = 64    // cards made up to see how often one candidate's checks hold on another's cards
)

// Settle returns what to look at next, most telling first: the number printed on a card, another card, one from another
// order, the same card once more. It returns nothing where the answer is settled, is of other cards, or there is
// nothing to choose between.
func (r *Ranker) Settle(cards []formats.Sightings, ans *Answer) []Settle {
	var hyps []*Candidate
	if ans == nil {
		return nil
	}
	for i := range ans.Candidates {
		if c := &ans.Candidates[i]; len(hyps) < leading && c.Probability >= leadingFrom && c.of(cards) {
			hyps = append(hyps, c)
		}
	}
	if len(hyps) < 2 || hyps[0].Probability >= settled {
		return nil
	}
	for i, rep := range hyps[0].Repairs {
		if hyps[0].Probability >= likely && hyps[0].doubtful(i) {
			return whichOf(i, rep.Ways)
		}
	}
	all := []Settle{r.readPrint(cards, hyps), again(cards, hyps)}
	if slices.ContainsFunc(cards, hasRead) {
		all = append(all, r.another(hyps, false), r.another(hyps, true))
	} else {
		all = append(all, firstRead(hyps))
	}
	all = slices.DeleteFunc(all, func(s Settle) bool { return s.Bits < telling })
	sort.SliceStable(all, func(i, j int) bool { return all[i].Bits > all[j].Bits })
	return all
}

// How often a card has a print that tells it from others, and how often a second read of a bad one is good: judgement.
const printTells, againTells = 0.8, 0.95

// whichOf is finding out which of many cards a bad read is of: nothing else is worth asking before.
func whichOf(i, ways int) []Settle {
	bits := math.Log2(float64(ways))
	return []Settle{
		{What: fmt.Sprintf("present card %d again", i+1), Shows: "a good read says which card it is",
			Bits: againTells * bits},
		{What: fmt.Sprintf("read the number printed on card %d", i+1), Shows: fmt.Sprintf("it says which of the %d it is",
			ways), Bits: printTells * bits},
	}
}

// information returns the mutual information between hypotheses and an outcome: p[h] are the hypotheses' weights,
// out[h] the probabilities of the outcomes under each.
func information(p []float64, out []map[string]float64) float64 {
	total := 0.0
	for _, v := range p {
		total += v
	}
	mixed := map[string]float64{}
	for h := range out {
		for o, v := range out[h] {
			mixed[o] += p[h] / total * v
		}
	}
	bits := 0.0
	for h := range out {
		for _, o := range sortedOutcomes(out[h]) {
			if v := out[h][o]; v > 0 {
				bits += p[h] / total * v * math.Log2(v/mixed[o])
			}
		}
	}
	return bits
}

// sortedOutcomes fixes the order of adding up, so that the sum is the same every time.
func sortedOutcomes(m map[string]float64) []string { return slices.Sorted(maps.Keys(m)) }

func weights(hyps []*Candidate) []float64 {
	p := make([]float64, len(hyps))
	for i, h := range hyps {
		p[i] = h.Probability
	}
	return p
}

// readPrint is looking at the number printed on the first card whose print is not known.
func (r *Ranker) readPrint(cards []formats.Sightings, hyps []*Candidate) Settle {
	at := slices.IndexFunc(cards, func(s formats.Sightings) bool {
		return !slices.ContainsFunc(s, func(t formats.Sighting) bool { return t.Kind == formats.Printed })
	})
	if at < 0 || hyps[0].Format.Kind == formats.KindKeypad { // on keys there is nothing to read
		return Settle{}
	}
	out := make([]map[string]float64, len(hyps))
	for i, h := range hyps {
		if out[i] = r.prints(h, at); len(out[i]) == 0 {
			return Settle{}
		}
	}
	s := Settle{What: fmt.Sprintf("read the number printed on card %d", at+1), Bits: information(weights(hyps), out)}
	s.Shows = showPrints(hyps, out)
	return s
}

// prints returns what can be printed on a card, with probabilities.
func (r *Ranker) prints(h *Candidate, at int) map[string]float64 {
	out := map[string]float64{}
	for i, f := range r.model.Formats() {
		if f != h.Format {
			continue
		}
		for form, weight := range r.model.Prints(i) {
			if text, err := form.Text(&h.Cards[at]); err == nil {
				out[text] += weight
			}
		}
	}
	return out
}

// showPrints gives for each candidate the print that says most for it, if it is one that no other gives as often.
func showPrints(hyps []*Candidate, out []map[string]float64) string {
	var parts []string
	for i, h := range hyps {
		best, gain := "", 0.0
		for _, text := range sortedOutcomes(out[i]) {
			other := 0.0
			for j := range out {
				if j != i {
					other = max(other, out[j][text])
				}
			}
			if g := out[i][text] - other; g > gain {
				best, gain = text, g
			}
		}
		if gain > 0.05 {
			parts = append(parts, fmt.Sprintf("%s means %s", best, h.name()))
		}
	}
	return strings.Join(parts, "; ")
}

// name is the format and, where there is one, the fault.
func (c *Candidate) name() string {
	if c.Fault == None {
		return c.Format.ID
	}
	return c.Format.ID + " (" + c.Fault.String() + ")"
}

// again is presenting a card again whose read may be a misread: a misread seldom comes twice the same.
func again(cards []formats.Sightings, hyps []*Candidate) Settle {
	at := -1
	for _, h := range hyps {
		for i, r := range h.Repairs {
			if at < 0 && !r.Fault.Wiring() {
				at = i
			}
		}
	}
	if at < 0 || len(cards) == 0 {
		return Settle{}
	}
	const sameIfMisread, sameIfSound = 0.1, 0.98
	out := make([]map[string]float64, len(hyps))
	var changed, stays []string
	for i, h := range hyps {
		p := sameIfSound
		if !h.Repairs[at].Fault.Wiring() {
			p = sameIfMisread
			changed = append(changed, h.name())
		} else {
			stays = append(stays, h.name())
		}
		out[i] = map[string]float64{"same": p, "other": 1 - p}
	}
	s := Settle{What: fmt.Sprintf("present card %d again", at+1), Bits: information(weights(hyps), out)}
	s.Shows = "another read means " + strings.Join(changed, " or ")
	if len(stays) > 0 {
		s.Shows += "; the same read means " + strings.Join(stays, " or ")
	}
	return s
}

// firstRead is presenting a card at a reader where nothing was read so far: the length alone tells most formats apart.
func firstRead(hyps []*Candidate) Settle {
	out := make([]map[string]float64, len(hyps))
	var reads []string
	means := map[string][]string{}
	for i, h := range hyps {
		n := fmt.Sprintf("%d bits", h.Format.Layout.Len())
		if whole := &h.Cards[0]; whole.Whole() {
			n = whole.Record.Encode().Hex()
		}
		out[i] = map[string]float64{n: 1}
		if means[n] == nil {
			reads = append(reads, n)
		}
		if !slices.Contains(means[n], h.name()) {
			means[n] = append(means[n], h.name())
		}
	}
	for i, n := range reads {
		reads[i] = n + " means " + strings.Join(means[n], " or ")
	}
	return Settle{What: "present card 1 at a reader", Bits: information(weights(hyps), out),
		Shows: strings.Join(reads, "; ")}
}

// another is presenting one more card: of the same order, with the facility it has, or of another order. What is looked
// at is for which candidates its checks hold. Cards are made up from each candidate to see how often they do.
func (r *Ranker) another(hyps []*Candidate, order bool) Settle {
	out := make([]map[string]float64, len(hyps))
	rng := rand.New(rand.NewPCG(1, 2)) // the same cards every time
	for i, h := range hyps {
		out[i] = map[string]float64{}
		ofSite := r.ofSite(h.Format)
		for range samples {
			out[i][holds(hyps, h.makeCard(rng, ofSite, order))] += 1.0 / samples
		}
	}
	s := Settle{What: "present another card of the same order", Bits: information(weights(hyps), out)}
	if order {
		s.What = "present a card from another order"
	}
	all := strings.Repeat("1", len(hyps))
	var parts []string
	for i, h := range hyps {
		if out[i][all] < 0.9 {
			parts = append(parts, fmt.Sprintf("checks that hold for %s alone say it is that", h.name()))
			break
		}
	}
	s.Shows = strings.Join(parts, "; ")
	return s
}

// ofSite says which fields of a format have one value, or few, for all cards of a site.
func (r *Ranker) ofSite(f *formats.Format) []bool {
	fields := make([]bool, len(f.Layout.Spec().Fields))
	for j, g := range r.model.Formats() {
		for i := range fields {
			fields[i] = g == f && r.model.OfSite(j, i)
		}
		if g == f {
			break
		}
	}
	return fields
}

// makeCard returns the read of a card like the candidate's, with other numbers.
func (c *Candidate) makeCard(rng *rand.Rand, ofSite []bool, order bool) wiegand.Bits {
	r := c.Format.Layout.Blank()
	if len(c.Cards) > 0 && c.Cards[0].Format != nil {
		r = c.Cards[0].Record
	}
	for i := range ofSite {
		if ofSite[i] && !order {
			continue
		}
		for range 8 { // a digit over 9 is refused, so try again
			words := [4]uint64{rng.Uint64(), rng.Uint64(), rng.Uint64(), rng.Uint64()}
			next, err := r.WithValue(i, wiegand.BitsFromWords(words, r.Value(i).Len()))
			if err == nil && next.OK() {
				r = next
				break
			}
		}
	}
	b := r.Encode()
	if c.Fault.Wiring() {
		b = c.Fault.Undo(b)
	}
	return b
}

// holds says for which candidates a read's checks hold, a 1 or 0 for each.
func holds(hyps []*Candidate, b wiegand.Bits) string {
	marks := make([]byte, len(hyps))
	for i, h := range hyps {
		marks[i] = '0'
		t := b
		if h.Fault.Wiring() {
			t = h.Fault.Undo(b)
		}
		if rec, err := h.Format.Layout.Decode(t); err == nil && rec.OK() {
			marks[i] = '1'
		}
	}
	return string(marks)
}
