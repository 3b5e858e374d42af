// Package undocumented weighs, for reads of one length, all layouts that nobody documented: frames of parity bits, and
// places of a number and a facility between them.
package undocumented

import (
	"math"
	"slices"

	"github.com/cardtell/cardtell/formats/internal/judgement"
	"github.com/cardtell/cardtell/formats/internal/logp"
	"github.com/cardtell/cardtell/formats/internal/misread"
	"github.com/cardtell/cardtell/formats/internal/typing"
	"github.com/cardtell/cardtell/wiegand"
)

// PrintForm says how a printed number comes from the number of an undocumented layout.
type PrintForm uint8

// The print forms.
const (
	PrintNone   PrintForm = iota // nothing is printed, or nothing that has to do with the read
	PrintFull                    // the number, with or without zeros before it
	PrintLast                    // its last digits
	PrintJoined                  // the facility and then the number, in a fixed count of digits
	PrintPair                    // the same two with a separator between
	PrintOffset                  // the number and a constant added
	// all data bits as one number, whatever their parts are; with a facility: the right way round
	PrintWhole
	PrintSerial // the chip serial, or a part of it, is the number: nothing is printed
)

// Hypothesis is where an undocumented layout has its number, and how that is printed.
type Hypothesis struct {
	Place    Place
	Print    PrintForm
	Digits   int    // PrintLast, PrintJoined: of the number, in decimal; PrintSerial: which part, as PartName has it
	Offset   int64  // PrintOffset: what is printed less what is read
	Facility [2]int // PrintPair, PrintJoined, PrintWhole: indices of its bits, as far as prints show it
	high     int    // bits of the highest of the facilities that prints show
	Wrong    []int  // reads whose print it does not explain
	None     bool   // no number at all: every bit by itself

	log    float64   // of how it is printed, and the prints
	value  float64   // of the numbers
	second []float64 // of each of what else is printed, if it is the number
}

// Layout is one undocumented layout: parity bits at the ends, and what is between.
type Layout struct {
	Start       int // bits before all others, the same on every card
	First, Last int // parity bits at each end
	From, To    int // indices of the data between
	// place of the catalogue's frame whose checks it has, among those given to Weigh; -1 where they are its own
	Known int
	Hyp   Hypothesis // where the number is
	Log   float64    // of its probability and that of all that was seen; its checks are any that hold

	prior  float64 // log of that of its frame, with its checks
	checks float64 // log of the probability of the checks, which is in Log and in prior

	// of a part of the sums: where it was found, its log there, and what that of layouts in no table is besides
	search         *search
	part, unlisted float64
}

// Whole is the log of a part of the sums that Keep was called with, less what other checks can be in it: to find that
// out takes longer than all else.
func (l *Layout) Whole() float64 { return l.part + l.search.unchecked(l, &l.Hyp) + l.unlisted }

// Keep is called with one part of the sums over layouts, and the places of the reads that it takes for misreads. Its
// Log is what [Layout.Whole] is at most.
type Keep func(s *Sample, l Layout, left []int)

// search weighs the layouts that nobody documented against one sample.
type search struct {
	*Reads
	s       *Sample
	hyps    []Hypothesis // with a print that has to do with the number
	spoilt  [][]int      // the reads without a number in places where others have what is printed in digits
	seconds []second     // what else is printed
	related float64      // log of the chance that prints have to do with the reads; 0 where there are none
	hex     bool         // the prints are in hex
	chance  float64      // log of the prints if they have not, with the chance of that
	frames  []Frame      // of the catalogue, of this length
	log     float64      // of the misreads
	keep    func(Layout) // called with each part of the sums
	fewTop  float64      // log of the likeliest frame and place so far, for a few of many reads
}

// Weighed is what came of weighing a sample.
type Weighed struct {
	Own    float64   // log of its joint probability and that of all layouts whose frame no table has
	Frames []float64 // the same of each frame of the catalogue with other parts than its formats have
	// Follows reports whether something printed on a card follows from its read, as the likeliest place of the number in
	// the sample has it. It is nil where no print of the sample has to do with its reads.
	Follows func(read wiegand.Bits, more []typing.Seen) bool
}

// Weigh weighs a sample; prior is the log of that of layouts whose frame no table has, and known are the frames of the
// catalogue. Where keep is not nil it is called with everything that the sums are made of, and the reads of s that each
// part takes for misreads: those that could not be put right are not in its sample. reads returns those of a sample, as
// NewReads does.
func Weigh(s *Sample, reads func(*Sample) *Reads, prior float64, known []Frame, keep Keep) (w Weighed) {
	all, inFrame := logp.NewMix(), make([]logp.Mix, len(known))
	for k := range inFrame {
		inFrame[k] = logp.NewMix()
	}
	n := len(s.Reads)
	weigh := func(u *search, left []int) {
		if keep != nil {
			u.keep = func(l Layout) {
				if l.Known < 0 {
					l.unlisted = prior
				}
				l.Log += l.unlisted
				keep(u.s, l, left)
			}
		}
		all.Add(prior + u.own())
		for k := range known {
			inFrame[k].Add(u.inFrame(k))
		}
	}
	good := newSearch(s, reads(s), known, misread.Log(n, 0))
	weigh(good, nil)
	for _, left := range good.suspects() {
		rest, log := s.without(left)
		bad := misread.Log(n-len(left), len(left))
		u := newSearch(rest, reads(rest), known, bad+log)
		if right, ok := u.putRight(s, left); ok {
			with := s.with(left, right)
			u = newSearch(with, reads(with), known, bad+s.misreadsLog(left, right, rest))
		}
		weigh(u, left)
	}
	for k := range inFrame {
		w.Frames = append(w.Frames, inFrame[k].Log())
	}
	w.Own, w.Follows = all.Log(), good.follows()
	return w
}

// newSearch looks for the prints in a sample. log is that of its misreads.
func newSearch(s *Sample, reads *Reads, known []Frame, log float64) *search {
	reads.data.take(s)
	u := &search{s: s, Reads: reads, frames: known, log: log}
	u.prints()
	return u
}

// LengthLog returns the log prior of an undocumented layout having n bits.
func LengthLog(n int) float64 { return logLengths[n] }

var logLengths = func() (logs [wiegand.MaxBits + 1]float64) {
	for n := range logs {
		p := (1 - judgement.UnknownUsual) / wiegand.MaxBits
		if n >= judgement.UnknownLow && n <= judgement.UnknownHigh {
			p += judgement.UnknownUsual / (judgement.UnknownHigh - judgement.UnknownLow + 1)
		}
		logs[n] = math.Log(p)
	}
	return logs
}()

// own returns the log of the joint probability of the sample and of all layouts whose frame no table has.
func (u *search) own() float64 {
	all := logp.NewMix()
	u.fewTop = logp.Never
	for _, l := range u.unlisted() {
		all.Add(u.region(l, all.Top))
	}
	return all.Log()
}

// inFrame returns the log of the joint probability of the sample and of a frame of the catalogue with other parts than
// its formats have, the prior of that counted.
func (u *search) inFrame(k int) float64 {
	f := &u.frames[k]
	for _, b := range u.s.Reads {
		if !f.Layout.Holds(b) {
			return logp.Never
		}
	}
	u.fewTop = logp.Never
	l := Layout{First: f.From, Last: u.s.Length - f.To, From: f.From, To: f.To, Known: k, prior: f.Log}
	return u.region(l, logp.Never)
}

// region adds up all that the data between the checks can be. What is far below top, the log of something else that it
// is added to, is left out.
func (u *search) region(l Layout, top float64) float64 {
	l.search = u
	base := l.prior + u.log
	others := math.Log1p(-u.tabled(l.Known))
	sum := logp.NewMix()
	add := func(h *Hypothesis, log float64) {
		sum.Add(log)
		if u.keep != nil {
			l.Hyp, l.Log, l.part = *h, log, log
			u.keep(l)
		}
	}
	if !math.IsInf(u.related, -1) {
		for i := range u.hyps {
			h := &u.hyps[i]
			if !h.Place.inside(l.From, l.To) || !h.facilityFits(&l) {
				continue
			}
			log := base + u.related + h.log + h.facilityLog(&l) + u.beside(h, &l)
			if !u.listed(l.Known, h.Place) {
				add(h, log+h.value+h.Place.prior(l.From, l.To)-others+u.around(&l, h.Place))
			}
			if h.Print == PrintFull && h.Place == (Place{From: l.From, To: l.To}) {
				u.unprinted(l, log+math.Log(wholeShare(u.hex)), func(p Place, log float64) {
					if p.Turn != FirstHigh { // as often the print has the number the right way round
						log -= math.Ln2
					}
					add(&Hypothesis{Place: p, None: p == Place{}, Print: PrintWhole, Wrong: h.Wrong}, log)
				})
			}
		}
	}
	// As where prints follow from the reads. Of reads that all differ each order is as likely.
	far, orders := max(top, sum.Top)-logp.CutOff-1, logp.Factorial(len(u.s.Reads))
	if base+u.chance < far || base+u.chance-orders < far && u.data.allDifferent(l.From, l.To) ||
		u.hopeless(&l, far-base-u.chance) {
		return sum.Log()
	}
	if u.keep == nil {
		sum.Add(base + u.chance + u.unread(l))
		return sum.Log()
	}
	u.unprinted(l, base+u.chance, func(p Place, log float64) { add(&Hypothesis{Place: p, None: p == Place{}}, log) })
	return sum.Log()
}

// hopeless reports whether all that the data can be, if no print says where the number is, is less likely than a log:
// a handful of the reads, which are no less likely than all of them, are far less so, even without the bits that can be
// checks.
func (u *search) hopeless(l *Layout, least float64) bool {
	core, few := Layout{From: mostBefore, To: u.s.Length - mostBehind, Known: -1}, u.data.spread()
	even := -float64(handful*(core.To-core.From)) * math.Ln2 // as it is for bits that say nothing
	if few == nil || even > least-hopelessInHandful || l.From > core.From || l.To < core.To {
		return false
	}
	if few.core == 0 {
		sum := logp.NewMix()
		sum.Add(math.Log(judgement.NoNumber) + few.bitwise(core.From, core.To))
		u.allPlaces(&core, func(p Place) {
			log, _ := few.placed(p, core.From, core.To)
			sum.Add(log)
		})
		few.core = sum.Log()
	}
	return few.core < least-hopelessInHandful
}

// hopelessInHandful is for what a handful of reads cannot show: that there are more fields than one, say.
const hopelessInHandful = 20

// facilityLog is the log prior of the place of a facility that prints show: mostly it is all that is before the
// number.
func (h *Hypothesis) facilityLog(l *Layout) float64 {
	switch {
	case h.Print != PrintPair && h.Print != PrintJoined:
		return 0
	case h.Facility[0] >= h.Place.To && h.Facility[1] == l.To:
		return math.Log(judgement.FacilityBehind * judgement.FacilityAll)
	case h.Facility[0] >= h.Place.To:
		return math.Log(judgement.FacilityBehind * (1 - judgement.FacilityAll) / float64(l.To-h.Place.To))
	}
	before, room := math.Log(1-judgement.FacilityBehind), math.Log(float64(h.Place.From-l.From))
	if max(h.Facility[1], l.From) < h.Place.From {
		before += math.Log(judgement.FacilityApart) - room
	}
	if h.Facility[0] <= l.From {
		return before + math.Log(judgement.FacilityAll)
	}
	return before + math.Log(1-judgement.FacilityAll) - room
}

// facilityFits reports whether the data has the facility that prints show: nothing but zeros of it is left out. Of
// prints that are all data bits nothing else may be left out either.
func (h *Hypothesis) facilityFits(l *Layout) bool {
	if h.Facility[1] > l.To || h.Print == PrintWhole && (h.Place.To != l.To || l.From < h.Facility[0]) {
		return false
	}
	return h.high <= max(0, h.Facility[1]-max(l.From, h.Facility[0]))
}

// around is the log probability of the data bits that are not in a number's place.
func (u *search) around(l *Layout, p Place) float64 {
	if p.High[1] == 0 {
		return u.data.beside(l.From, p.From) + u.data.behind(p.To, l.To)
	}
	a, b := [2]int{p.From, p.To}, p.High
	if b[0] < a[0] {
		a, b = b, a
	}
	return u.data.beside(l.From, a[0]) + u.data.beside(a[1], b[0]) + u.data.behind(b[1], l.To)
}

// unchecked is the log of the chance that no bits which vary, and are beside the number and the facility, are checks of
// a kind that is not looked for: such a layout is in the sums, but what it makes of another number is not known.
func (u *search) unchecked(l *Layout, h *Hypothesis) float64 {
	if h.Print == PrintWhole { // all bits are in print
		return 0
	}
	first, last := l.To, 0
	for _, at := range [...][2]int{{h.Place.From, h.Place.To}, h.Place.High, h.Facility} {
		if at[1] > 0 {
			first, last = min(first, at[0]), max(last, at[1])
		}
	}
	most, from := 0.0, l.From
	for i := l.From; i <= l.To; i++ {
		if i == l.To || u.s.constant(i) || i >= first && i < last {
			if from < i {
				most = max(most, u.data.free(from, i))
			}
			from = i + 1
		}
	}
	return math.Log1p(-judgement.RestChecks * most)
}

// listed reports whether a format of the catalogue has this frame and the number there: that is no other part.
func (u *search) listed(known int, p Place) bool {
	return known >= 0 && p.Turn == FirstHigh && p.Coding == wiegand.Binary && !p.Inverse &&
		slices.Contains(u.frames[known].Numbers, [2]int{p.From, p.To})
}

// tabled returns how much of the prior of places those have that listed reports: it is the others' here.
func (u *search) tabled(known int) float64 {
	if known < 0 {
		return 0
	}
	return u.frames[known].listed
}

// alone is the log probability of the data bits of the only read. Which bits are checks hardly matters for what is
// small in it, so that where no table says that, the first and the last one are taken for them.
func (u *search) alone(l *Layout) float64 {
	b := u.s.Reads[0]
	if l.Known >= 0 {
		return oneRead(b, l.From, l.To, u.frames[l.Known].Numbers)
	}
	return wholeRead(b) + float64(b.Len()-(l.To-l.From))*math.Ln2
}

// leastTurning is how many reads it takes to look for facilities behind a number, or before one whose last bit counts
// most: with fewer, each such place is as good as the usual ones, and unlikelier.
const leastTurning = 8

// unprinted adds what the data can be if no print says where the number is; nowhere is the place of no number.
func (u *search) unprinted(l Layout, base float64, add func(Place, float64)) {
	if len(u.s.Reads) == 1 { // one read does not say where anything is
		add(Place{}, base+u.alone(&l))
		return
	}
	add(Place{}, base+math.Log(judgement.NoNumber)+u.data.bitwise(l.From, l.To))
	base += math.Log((1 - judgement.NoNumber) / (lookedAt[l.To-l.From] - u.tabled(l.Known)))
	u.places(&l, func(p Place) {
		if log, ok := u.data.placed(p, l.From, l.To); ok {
			add(p, base+log)
		}
	})
}

// places calls use with where a number is looked for if no print says where it is, but for places that a few of many
// reads make hopeless. If the numbers are in a place, the few make another one, of this frame or of one before,
// likelier by e^hopelessInFew in at most one sample in e^hopelessInFew.
func (u *search) places(l *Layout, use func(Place)) {
	few := u.data.some()
	if few == nil {
		u.allPlaces(l, use)
		return
	}
	var places []Place
	var logs []float64
	u.allPlaces(l, func(p Place) {
		log, _ := few.placed(p, l.From, l.To)
		places, logs = append(places, p), append(logs, log+l.prior)
		u.fewTop = max(u.fewTop, log+l.prior)
	})
	for i, p := range places {
		if logs[i] > u.fewTop-hopelessInFew {
			use(p)
		}
	}
}

// allPlaces is places however many reads there are.
func (u *search) allPlaces(l *Layout, use func(Place)) {
	place := func(p Place) {
		if !u.listed(l.Known, p) {
			use(p)
		}
	}
	from, to := l.From, l.To
	many := len(u.s.Reads) >= leastTurning
	varies := from // the first bit that is not the same in all reads
	for varies < to && u.s.constant(varies) {
		varies++
	}
	low := max(from, to-64)
	plain := true // what is behind the number is no check: of those before one, other orders are not looked for
	for end := to; end > low; end-- {
		for first := low; first < end && (first <= varies || end == to || many); first++ {
			place(Place{From: first, To: end})
			width, usual := end-first, plain && (first <= varies || many && end == to)
			if usual && width > 1 && (first == low || first >= varies) {
				place(Place{From: first, To: end, Turn: LastHigh})
			}
			if usual && bytesLong(width) {
				place(Place{From: first, To: end, Turn: BytesLast})
				place(Place{From: first, To: end, Turn: BitsInByte})
			}
			if usual && digitsLong(width) {
				place(Place{From: first, To: end, Coding: wiegand.BCD})
			}
		}
		plain = plain && (u.s.constant(end-1) || many && u.data.fewValues(end-1, to)) // such as a facility
		if !plain && (!many || to-end >= mostChecked) {
			break
		}
	}
}

// mostChecked is how many bits behind a number can be a check of some kind that is not looked for, and what it goes
// with.
const mostChecked = 12

// hopelessInFew is how much less likely, as a log, a few of many reads make what need not be looked at in all.
const hopelessInFew = 60
