package evidence

import (
	"math"
	"slices"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/internal/density"
	"github.com/cardtell/cardtell/formats/internal/judgement"
	"github.com/cardtell/cardtell/formats/internal/logp"
	"github.com/cardtell/cardtell/formats/internal/misread"
	"github.com/cardtell/cardtell/formats/internal/typing"
	"github.com/cardtell/cardtell/formats/internal/undocumented"
	"github.com/cardtell/cardtell/wiegand"
)

// Work is one question while it is weighed, and what came of it. Its memory serves the next question.
type Work struct {
	m      *Model
	q      query
	memory *Memory                          // of questions that have to do with this one, nil where there are none
	reads  map[string][]*undocumented.Reads // by what they are without the zeros before them
	kept   int                              // how many of these
	own    []*undocumented.Reads            // of a question that has to do with no other
	used   int                              // how many of these it has used
	slips  map[slipOf]typing.Fit            // what slipAmong found

	// Of the prints of this question: what they are, nil for no card; and what they can have been typed wrong for.
	asRead   map[printedAs]*printed
	typos    map[typedAs]typos
	allTypos int

	// The hypothesis being weighed.
	model    *formatModel
	wiring   Fault
	cards    []formats.Card // by place in q.cards; without a format where nothing is known yet
	low      []shown        // by place: what prints show of numbers of which the top is left out
	repair   []Repair
	mends    [][]mend              // by place: what a bad read can have been
	mendLogs []float64             // log of the probability of each bad read
	undone   []wiegand.Bits        // reads by wiring and place
	heads    []uint64              // the first 64 bits of each
	seen     []density.Others      // by field: the values on good reads, for the repair of others
	good     map[wiegand.Bits]bool // the good reads, likewise
	values   []uint64              // scratch
	astray   []int                 // scratch: places of cards with a print that does not fit
	boxes    [][2]uint64           // scratch: facility and number of each card
	fits     []typing.Fit
	byStyles []typing.Fit // memory of fitOf
	wrong    []suspects   // scratch: cards that lie apart from the others, as those do that are typed wrong
	text     [96]byte     // scratch: a card in some form
	typo     formats.Card // scratch: a card that a print can have been typed wrong for
	how      []string     // options chosen, by slot
	first    int          // the slot that says first what cards are
	supposed int          // how many slots are supposed to follow from their cards in some way

	ends undocumented.Ends // of a read by itself

	general logp.Mix // of all readings as formats of the catalogue, each split alike

	Results []Result
	Unknown float64       // log of the joint probability of what was seen and of all layouts that no table has
	Frames  []FrameResult // frames of the catalogue with other parts than any table has
}

// Input returns for each card asked about its place among the different ones.
func (w *Work) Input() []int { return w.q.input }

// Lengths returns the lengths of the reads, each once, in rising order.
func (w *Work) Lengths() []int { return w.q.lens }

// Trimmed reports whether clocking zeros were taken off a read.
func (w *Work) Trimmed() bool { return w.q.trim }

// Read returns the read of the card at a place, empty where there is none.
func (w *Work) Read(place int) wiegand.Bits { return w.q.cards[place].read }

// Other returns what else was seen of the card at a place.
func (w *Work) Other(place int) []typing.Seen { return w.q.cards[place].more }

// Weigh weighs all readings of cards and hands them to use, whose memory it then uses again. The error is a
// [*CardError] for a card with no sighting or with two different reads, or says that there is no card.
func (m *Model) Weigh(cards []formats.Sightings, use func(*Work)) error {
	return m.Explain(cards, nil, nil, use)
}

// Explain is Weigh with what came of other questions, if memory is not nil. It calls keep with every part of what the
// undocumented layouts come to, and the reads that it leaves out as misreads by their place in the sample that Samples
// has first.
func (m *Model) Explain(cards []formats.Sightings, memory *Memory, keep undocumented.Keep, use func(*Work)) error {
	return m.weigh(cards, memory, keep, func(w *Work) {
		w.doubtCards()
		use(w)
	})
}

// weigh is Explain where nothing is asked about single cards.
func (m *Model) weigh(cards []formats.Sightings, memory *Memory, keep undocumented.Keep, use func(*Work)) error {
	w, _ := m.spare.Get().(*Work)
	if w == nil {
		w = new(Work)
	}
	defer m.spare.Put(w)
	if memory == nil || w.memory != memory { // it has to do with none before
		w.asRead, w.typos, w.allTypos = nil, nil, 0
	}
	if w.m, w.used = m, 0; w.memory != memory {
		w.memory, w.reads, w.kept = memory, map[string][]*undocumented.Reads{}, 0
	}
	if err := m.digest(&w.q, cards); err != nil {
		return err
	}
	if w.Unknown = logp.Never; w.q.reads == 0 {
		w.all() // of cards without a read undocumented layouts are like formats
	}
	if w.undocumented(keep); w.q.reads > 0 {
		w.all() // after that, so that formats that are far less likely are not weighed to the end
	}
	if w.stuck() {
		w.Unknown = logp.Add(w.Unknown, math.Log(judgement.StuckLine/2)+undocumented.LengthLog(w.q.lens[0]))
	}
	use(w)
	return nil
}

// Total returns the log of the joint probability of what was seen, over all readings and none.
func (w *Work) Total() float64 {
	mix := logp.NewMix()
	mix.Add(w.Unknown)
	for i := range w.Results {
		mix.Add(w.Results[i].Log)
	}
	for i := range w.Frames {
		mix.Add(w.Frames[i].Log)
	}
	return mix.Log()
}

// all weighs every format and wiring that the lengths allow.
func (w *Work) all() {
	n := len(w.q.cards)
	w.cards, w.low, w.repair = resize(w.cards, n), resize(w.low, n), resize(w.repair, n)
	for len(w.mends) < n {
		w.mends = append(w.mends, nil)
	}
	w.mendLogs = resize(w.mendLogs, n)
	w.how, w.Results, w.general = resize(w.how, len(w.q.slots)), w.Results[:0], logp.NewMix()
	if w.q.reads == 0 {
		for i := range w.m.formats {
			w.model, w.wiring = &w.m.formats[i], None
			w.reset()
			w.anyFirst(w.model.log)
		}
		return
	}
	low, high := w.q.lens[0], w.q.lens[len(w.q.lens)-1]
	w.undo()
	for length := low - 1; length <= high+1; length++ {
		ways := Fault(wirings)
		if !slices.Contains(w.q.lens, length) {
			ways = None + 1 // all reads would be misreads, of which no wiring is made out
		}
		for _, i := range w.m.byLen[length] {
			m := &w.m.formats[i]
			for wiring := range ways {
				if n > 1 || wiring == None || m.fixed.holds(w.heads[wiring]) { // else one read makes no wiring out
					w.score(m, wiring)
				}
			}
		}
	}
}

// resize returns a slice of n zeros, in the memory of s where it fits.
func resize[T any](s []T, n int) []T {
	if cap(s) < n {
		return make([]T, n)
	}
	s = s[:n]
	clear(s)
	return s
}

// undo works out each read as it would be without a fault of the wiring.
func (w *Work) undo() {
	n := len(w.q.cards)
	w.undone, w.heads = resize(w.undone, n*wirings), resize(w.heads, n*wirings)
	for i := range w.q.cards {
		read := w.q.cards[i].read
		reversed := read.Reverse()
		w.undone[int(None)*n+i], w.undone[int(SwappedLines)*n+i] = read, read.Invert()
		w.undone[int(Reversed)*n+i], w.undone[int(SwappedReversed)*n+i] = reversed, reversed.Invert()
	}
	for i := range w.undone {
		w.heads[i] = w.undone[i].Words()[0]
	}
}

// wirings is how many faults of the wiring there are, None counted.
const wirings = int(SwappedReversed) + 1

// score adds the readings of one format and wiring to the results.
func (w *Work) score(m *formatModel, wiring Fault) {
	w.model, w.wiring = m, wiring
	n := len(w.q.cards)
	undone, heads := w.undone[int(wiring)*n:][:n], w.heads[int(wiring)*n:][:n]
	good, bad := 0, 0
	shown := 0              // bad reads of cards of which something else is seen, which can say what they were
	for i := range undone { // most formats fail here, before any memory is touched
		switch b := &undone[i]; {
		case b.Len() == 0:
		case m.fixed.holds(heads[i]) && m.format.Layout.Holds(*b):
			good++
		default:
			if bad++; len(w.q.cards[i].more) > 0 && n <= density.MostLinear {
				shown++
			}
		}
	}
	log := m.log + w.m.wirings[wiring]
	if bad == 0 {
		w.clean(undone)
		log += misread.Log(good, 0)
		w.doubt(undone, good, 0, log)
		w.anyFirst(log)
		return
	}
	if wiring == None {
		w.atEnds(undone, log)
	}
	if bad-shown > 2+good || bad > 2+2*good || wiring != None && good < 2*bad {
		return // reads that mostly fail are better explained by another layout
	}
	if good == 0 && len(undone) == 1 && !m.fixed.possible(faultBetween(m.format.Layout.Len(), undone[0].Len()),
		undone[0]) {
		return // quicker than trying every repair
	}
	if w.mend(undone) {
		log += misread.Log(good, bad)
		w.doubt(undone, good, bad, log)
		w.anyFirst(log + w.alikeMends(undone))
	}
}

// faultBetween is the misread that makes a read of n bits of a good one of l bits.
func faultBetween(l, n int) Fault {
	switch {
	case n < l:
		return LostBit
	case n > l:
		return ExtraBit
	}
	return FlippedBit
}

func (w *Work) reset() {
	w.wrong = w.wrong[:0]
	for k := range w.q.slots {
		w.q.slots[k].supposed = w.q.slots[k].supposed[:0]
	}
	clear(w.cards)
	clear(w.low)
	for i := range w.repair {
		w.repair[i] = Repair{Chance: 1}
	}
	for i := range w.q.cards {
		w.mends[i] = w.mends[i][:0]
	}
}

// clean decodes all reads, whose checks are known to hold.
func (w *Work) clean(undone []wiegand.Bits) {
	w.reset()
	for i := range undone {
		if undone[i].Len() > 0 {
			w.decode(i, &undone[i])
			w.repair[i] = Repair{Fault: w.wiring, Chance: 1}
		}
	}
}

// decode takes a read for card i; false where it has the wrong length or a check fails.
func (w *Work) decode(i int, b *wiegand.Bits) bool {
	c, l := &w.cards[i], w.model.format.Layout
	if b.Len() != l.Len() || l.DecodeInto(&c.Record, b) != nil || !c.Record.OK() {
		return false // asked for the length first, since making that error takes longer than decoding
	}
	c.Format, c.Known = w.model.format, allFields(w.model)
	return true
}

func allFields(m *formatModel) formats.FieldSet { return formats.FieldSet(1<<len(m.fields) - 1) }

// fieldLog is the log probability of one field's values over the cards.
func (w *Work) fieldLog(f int) float64 {
	m := &w.model.fields[f]
	log := 0.0
	w.values = w.values[:0]
	for i := range w.cards {
		c := &w.cards[i]
		if !c.Known.Has(f) {
			continue
		}
		v, ok := c.Record.Uint64(f)
		if !ok || m.role == freeRole {
			log += m.even
			continue
		}
		w.values = append(w.values, v)
	}
	switch m.role {
	case siteRole:
		log += m.log(w.values)
	case numberRole:
		log += w.numbersLog(f)
	case dateRole:
		log += m.dates(w.values)
	}
	return log
}

// stuck reports whether every read is of one bit again and again, as where a data line is cut or shorted.
func (w *Work) stuck() bool {
	for i := range w.q.cards {
		b := w.q.cards[i].read
		if n := b.OnesCount(); n != 0 && n != b.Len() {
			return false
		}
	}
	return w.q.reads > 0
}

// undocumented weighs the layouts that no table has.
func (w *Work) undocumented(keep undocumented.Keep) {
	w.Frames = w.Frames[:0]
	if keep == nil && w.q.reads == 1 && len(w.q.cards) == 1 && len(w.q.slots) == 0 { // what all sums come to for one read
		b := w.q.cards[0].read
		alone := misread.Log(1, 0)
		w.Unknown = w.m.unknown + undocumented.LengthLog(b.Len()) + w.ends.Whole(b) + alone +
			undocumented.StartsWith(b.Bit(0))
		known := w.m.frames[b.Len()]
		for k := range known {
			if f := &known[k]; f.Layout.Holds(b) {
				if w.ends.From != f.From || w.ends.To != f.To {
					w.ends.Take(b, f.From, f.To)
				}
				w.Frames = append(w.Frames, FrameResult{f, f.Log + w.ends.Log(f.Numbers) + alone})
			}
		}
		return
	}
	rest := 0.0 // of cards without a read
	for i := range w.q.cards {
		if w.q.cards[i].read.Len() == 0 {
			for k := range w.q.cards[i].more {
				rest += math.Log(w.q.cards[i].more[k].Floor)
			}
		}
	}
	samples := w.Samples()
	if len(samples) == 0 {
		w.Unknown = w.unread(rest)
		return
	}
	if len(samples) > 1 {
		w.lengths(samples, rest, keep)
		return
	}
	logs := w.layouts(samples[0], keep)
	w.Unknown = logs.Own + rest
	for k, log := range logs.Frames {
		if !math.IsInf(log, -1) {
			w.Frames = append(w.Frames, FrameResult{&w.m.frames[samples[0].Length][k], log + rest})
		}
	}
}

// unread returns the log probability of what is seen of cards of which none was read, if it has to do with nothing, of
// which the log is given, or their layout is in no table: then what is printed on them is as with the fields of some
// format of the catalogue, whichever.
func (w *Work) unread(nothing float64) float64 {
	log := nothing + w.m.unknown - math.Log(judgement.UnknownPrior)
	for i := range w.q.slots {
		if w.q.slots[i].kind == formats.Serial { // it is of some card, surely
			log += math.Log(judgement.SerialUnrelated * judgement.UnknownPrior)
		} else {
			log += math.Log(judgement.PrintUnrelated + judgement.PrintedRead)
		}
	}
	return logp.Add(log, w.m.unknown+math.Log(judgement.LikeListed)+w.general.Log())
}

// Samples returns the reads by length, each with what else was seen of its card.
func (w *Work) Samples() []*undocumented.Sample {
	var all []*undocumented.Sample
	for i := 0; i < len(w.q.cards); {
		n, from := w.q.cards[i].read.Len(), i
		for i < len(w.q.cards) && w.q.cards[i].read.Len() == n {
			i++
		}
		reads, prints := make([]wiegand.Bits, i-from), make([][]typing.Seen, i-from)
		for k, c := range w.q.cards[from:i] {
			reads[k], prints[k] = c.read, c.more
		}
		if n > 0 {
			all = append(all, undocumented.NewSample(reads, prints))
		}
	}
	return all
}
