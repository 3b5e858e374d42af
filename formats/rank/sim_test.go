package rank

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"runtime"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/calibration"
	"github.com/cardtell/cardtell/formats/calibration/keep"
	"github.com/cardtell/cardtell/wiegand"
)

// A simulation of sites. Its assumptions differ in kind from those of the ranking: facilities are mostly small or
// anything, never drawn from a restaurant process; cards come out of boxes of consecutive numbers with some handed out
// already, or from anywhere; a print is chosen from habits with other weights and other lies. What it shares with the
// ranking is the catalogue and its weights, which is what "a random layout by weight" means.

// site is one simulated site: the truth, and what an installer sees of it.
type site struct {
	format *formats.Format
	cards  []formats.Card
	seen   []formats.Sightings
}

type simulator struct {
	rng   *rand.Rand
	cat   formats.Catalogue
	total float64
}

// shortest keeps keys of keypads out: 4 to 8 bits are no cards.
const shortest = 24

func newSimulator(seed uint64) *simulator {
	s := &simulator{rng: rand.New(rand.NewPCG(seed, 0)), cat: formats.Builtin()}
	for i := range s.cat.Len() {
		s.total += s.weight(i)
	}
	return s
}

func (s *simulator) weight(i int) float64 {
	if s.cat.At(i).Layout.Len() < shortest {
		return 0
	}
	return s.cat.At(i).Weight
}

func (s *simulator) format() *formats.Format {
	x := s.rng.Float64() * s.total
	for i := range s.cat.Len() {
		if x -= s.weight(i); x < 0 {
			return s.cat.At(i)
		}
	}
	return s.cat.At(0)
}

// site makes a site of n cards whose reads are seen.
func (s *simulator) site(f *formats.Format, n int) site {
	st := site{format: f}
	values := make([]func() string, len(f.Layout.Spec().Fields))
	for i := range values {
		values[i] = s.field(f, i)
	}
	for len(st.cards) < n {
		c := f.Blank()
		for i, field := range f.Layout.Spec().Fields {
			if field.Constant != "" {
				continue
			}
			var err error
			if c, err = c.With(i, values[i]()); err != nil {
				panic(err)
			}
		}
		st.cards = append(st.cards, c)
		st.seen = append(st.seen, formats.Sightings{{Kind: formats.Read, Bits: c.Record.Encode()}})
	}
	return st
}

// field returns a source of one field's values at one site.
func (s *simulator) field(f *formats.Format, i int) func() string {
	field := f.Layout.Spec().Fields[i]
	limit := s.limit(field)
	switch {
	case field.Coding == wiegand.Signs5:
		n := field.Bits.Len() / 5
		return func() string { return s.digits(n) }
	case field.Name == wiegand.FieldUnknown, f.Kind == formats.KindSerial && field.Name == wiegand.FieldNumber:
		return func() string { return s.big(field.Bits.Len()) }
	case f.Kind == formats.KindKeypad && field.Coding == wiegand.Binary:
		if s.rng.IntN(4) == 0 { // PINs of five digits, else of four
			return func() string { return fmt.Sprint(10000 + s.rng.IntN(55536)) }
		}
		return func() string { return s.digits(4) }
	case f.Kind == formats.KindKeypad:
		return func() string { return s.digits(field.Bits.Len() / 4) }
	case field.Name == "person", field.Name == "credential", field.Name == wiegand.FieldNumber:
		if limit == 0 {
			return func() string { return s.big(field.Bits.Len()) }
		}
		if f.Kind == formats.KindEither && s.rng.IntN(2) == 0 { // chips at one site, cards that count at another
			return func() string { return s.big(field.Bits.Len()) }
		}
		return s.box(limit)
	case field.Name == "expiry":
		return func() string {
			return fmt.Sprintf("20%02d%02d%02d", 27+s.rng.IntN(5), 1+s.rng.IntN(12), 1+s.rng.IntN(28))
		}
	}
	one := s.facility(limit)
	two := s.facility(limit)
	mixed := s.rng.Float64() < 0.08 // cards of a second order
	return func() string {
		if mixed && s.rng.IntN(3) == 0 {
			return fmt.Sprint(two)
		}
		return fmt.Sprint(one)
	}
}

// limit is the number of values of a field, 0 where 64 bits don't hold it.
func (s *simulator) limit(f wiegand.Field) uint64 {
	n := f.Bits.Len()
	switch f.Coding {
	case wiegand.Digits5:
		n = n / 5 * 4
		fallthrough
	case wiegand.BCD:
		v := uint64(1)
		for range n / 4 {
			v *= 10
		}
		return v
	}
	if n > 62 {
		return 0
	}
	return 1 << n
}

func (s *simulator) facility(limit uint64) uint64 {
	if s.rng.Float64() < 0.6 {
		return s.rng.Uint64N(min(limit, 256))
	}
	return s.rng.Uint64N(limit)
}

// box returns numbers out of a box of cards: consecutive, in a random order, a few handed out already.
func (s *simulator) box(limit uint64) func() string {
	if s.rng.Float64() < 0.2 {
		return func() string { return fmt.Sprint(s.rng.Uint64N(limit)) } // cards from anywhere
	}
	size := min([]uint64{25, 100, 500}[s.rng.IntN(3)], limit)
	start := s.rng.Uint64N(limit - size + 1)
	if s.rng.Float64() < 0.3 {
		start = min(1, limit-size)
	}
	return func() string { return fmt.Sprint(start + s.rng.Uint64N(size)) }
}

func (s *simulator) digits(n int) string {
	b := make([]byte, n)
	for i := range b {
		b[i] = '0' + byte(s.rng.IntN(10))
	}
	return string(b)
}

// big returns a random number of n bits in decimal.
func (s *simulator) big(n int) string {
	b := wiegand.BitsFromWords([4]uint64{s.rng.Uint64(), s.rng.Uint64(), s.rng.Uint64(), s.rng.Uint64()}, n)
	l := wiegand.MustCompile(wiegand.Spec{Length: n,
		Fields: []wiegand.Field{{Name: "x", Bits: wiegand.Spans{{From: 1, To: n}}}}})
	r, err := l.Decode(b)
	if err != nil {
		panic(err)
	}
	return r.Text(0)
}

// print adds what is printed on card i: a habit of the site's, with the odd sticker of something else.
func (s *simulator) print(st *site, i int) {
	if s.rng.Float64() < 0.02 {
		st.seen[i] = append(st.seen[i], formats.Sighting{Kind: formats.Printed, Text: s.digits(4 + s.rng.IntN(7))})
		return
	}
	habits := habitsOf(st.format)
	for {
		name := habits.draw(s.rng)
		form, ok := formats.FormByName(name)
		if !ok {
			panic("no form " + name)
		}
		if text, err := form.Text(&st.cards[i]); err == nil {
			st.seen[i] = append(st.seen[i], formats.Sighting{Kind: kindOf(name), Text: strings.ReplaceAll(text, ":", "")})
			return
		}
	}
}

// habitsOf returns how sites print cards of a format.
func habitsOf(f *formats.Format) habits {
	switch {
	case f.Number() < 0:
		return ownFieldsHabits
	case f.Kind == formats.KindSerial:
		return serialHabits
	case f.Kind == formats.KindEither:
		return eitherHabits
	case f.Facility() < 0:
		return numberHabits
	}
	return facilityHabits
}

// kindOf returns the kind of sighting that a print in a form is.
func kindOf(form string) formats.SightingKind {
	if form == "hex" || form == "uid" {
		return formats.Hex
	}
	return formats.Printed
}

// habits is how many of a hundred sites print in which form. They are not the ranking's weights, nor in proportion to
// them.
type habits []struct {
	form  string
	sites int
}

var (
	facilityHabits = habits{
		{"number", 42}, {"pair", 28}, {"joined", 12}, {"number10", 7}, {"decimal", 2}, {"decimal10", 2}, {"hex", 5},
		{"words", 2},
	}
	numberHabits = habits{{"number", 65}, {"number10", 22}, {"hex", 8}, {"words", 5}}
	serialHabits = habits{{"number", 21}, {"number10", 29}, {"pair24", 20}, {"words", 4}, {"hex", 13}, {"uid", 11},
		{"uid-reversed-decimal", 2}}
	ownFieldsHabits = habits{{"joined", 100}}
)

// eitherHabits is half of the habits of numbers and half of those of serials.
var eitherHabits = habits{
	{"number", 43}, {"number10", 25}, {"hex", 11}, {"words", 5}, {"pair24", 10}, {"uid", 5}, {"uid-reversed-decimal", 1},
}

func (h habits) draw(rng *rand.Rand) string {
	for {
		x := rng.IntN(100)
		for _, e := range h {
			if x -= e.sites; x < 0 {
				return e.form
			}
		}
	}
}

// right reports whether a candidate is the truth: format and every number.
func (st *site) right(c *Candidate) bool {
	if c.Format.ID != st.format.ID {
		return false
	}
	for i := range st.cards {
		if c.Cards[i].Record.Bits() != st.cards[i].Record.Bits() {
			return false
		}
	}
	return true
}

// reliability is stated probabilities and how often they came true.
type reliability struct{ calibration.Forecasts }

// check holds stated probabilities to within 5 points of the truth in every decile of 50 or more, beyond what sampling
// alone makes of it: 2.6 standard errors, one chance in a hundred.
func (r *reliability) check(t *testing.T) {
	t.Helper()
	for d := range calibration.Bins {
		b := r.Bin(d)
		if n := float64(b.N); n >= 50 {
			said, came := b.Stated/n, float64(b.True)/n
			assert.InDelta(t, said, came, 0.05+2.6*math.Sqrt(said*(1-said)/n), "decile %d of %d statements", d, b.N)
		}
	}
}

func (r *reliability) String() string {
	s := "stated      sites   mean stated   came true\n"
	for d := range calibration.Bins {
		if b := r.Bin(d); b.N > 0 {
			n := float64(b.N)
			s += fmt.Sprintf("%2d-%3d %%  %6d   %8.1f %%   %7.1f %%\n", 10*d, 10*d+10, b.N, 100*b.Stated/n,
				100*float64(b.True)/n)
		}
	}
	return s
}

// listed is a candidate's probability if the frame has no other parts than those in a table. The simulator draws from
// the catalogue alone, so that what is kept for other parts never comes true here; the worlds of formats/calibration
// have them.
func (ans *Answer) listed(c *Candidate) float64 {
	others := 0.0
	for i := range ans.Frames {
		others += ans.Frames[i].Probability
	}
	return min(1, c.Probability/(1-others))
}

// simSeed is printed with every failure by the test's name; change it to try other sites.
const simSeed = 20260101

func simSites(t *testing.T) int {
	if t != nil && testing.Short() {
		return 1000
	}
	return 40000
}

// TestIdentifySimulatedSites: five cards of one site, with one printed number among them and with none.
func TestIdentifySimulatedSites(t *testing.T) {
	var table, every [2]reliability
	for k, printed := range []bool{true, false} {
		t.Run(fmt.Sprintf("printed=%v", printed), func(t *testing.T) {
			s := newSimulator(simSeed)
			ranker, err := New(s.cat)
			require.NoError(t, err)
			var rel, all reliability
			right, total, stated := 0, simSites(t), 0.0
			wrong := map[string]int{}
			for range total {
				st := s.site(s.format(), 5)
				if printed {
					s.print(&st, s.rng.IntN(5))
				}
				ans, err := ranker.Rank(st.seen)
				require.NoError(t, err)
				if len(ans.Candidates) == 0 {
					wrong[st.format.ID+" none"]++
					continue
				}
				first := &ans.Candidates[0]
				ok := st.right(first)
				rel.Add(ans.listed(first), ok)
				stated += ans.listed(first)
				if ok {
					right++
				} else {
					wrong[fmt.Sprintf("%s taken for %s %s", st.format.ID, first.Format.ID, first.Fault)]++
				}
				for i := range ans.Candidates {
					all.Add(ans.listed(&ans.Candidates[i]), st.right(&ans.Candidates[i]))
				}
			}
			percent := 100 * float64(right) / float64(total)
			if printed {
				assert.GreaterOrEqual(t, percent, 97.0-200/math.Sqrt(float64(total)),
					"right with one printed number among five cards")
			}
			assert.InDelta(t, stated/float64(total), float64(right)/float64(total), 0.015+2.6*0.3/math.Sqrt(float64(total)),
				"stated and true, over all")
			rel.check(t)
			all.check(t)
			table[k], every[k] = rel, all
			t.Logf("seed %d, %d sites: first candidate right in %.2f %%, stated %.2f %%\nfirst candidates:\n%sall candidates:\n%s%v",
				simSeed, total, 100*float64(right)/float64(total), 100*stated/float64(total), &rel, &all, wrong)
		})
	}
	if testing.Short() {
		return
	}
	if runtime.GOARCH == "amd64" { // others may round a last bit otherwise
		checkPage(t, pageTable(&table[0], &table[1]))
	}
	first := []calibration.Series{{Name: "one print among five cards", Forecasts: &table[0].Forecasts},
		{Name: "no print", Forecasts: &table[1].Forecasts}}
	keep.Table(t, "../..", "identify-reliability.csv", calibration.Reliability(first...))
	keep.Table(t, "../..", "identify-scores.csv", calibration.Scores(append(first,
		calibration.Series{Name: "all candidates, one print", Forecasts: &every[0].Forecasts},
		calibration.Series{Name: "all candidates, no print", Forecasts: &every[1].Forecasts})...))
}

// pageTable is the reliability of first candidates, for people.
func pageTable(printed, bare *reliability) string {
	cell := func(b calibration.Bin) string {
		if b.N == 0 {
			return "| | |"
		}
		n := float64(b.N)
		return fmt.Sprintf("| %.1f %% | %.1f %% of %d |", 100*b.Stated/n, 100*float64(b.True)/n, b.N)
	}
	var b strings.Builder
	fmt.Fprintf(&b, "%d sites each, seed %d; deciles of fewer than 50 sites are left out.\n\n", simSites(nil), simSeed)
	b.WriteString("| stated | one print among five cards: stated | came true | no print: stated | came true |\n| --- | --- | --- | --- | --- |\n")
	for d := range calibration.Bins {
		p, q := printed.Bin(d), bare.Bin(d)
		if p.N >= 50 || q.N >= 50 {
			fmt.Fprintf(&b, "| %d-%d %% %s%s\n", 10*d, 10*d+10, cell(p), strings.TrimPrefix(cell(q), "|"))
		}
	}
	return b.String()
}

func checkPage(t *testing.T, table string) {
	const path, begin, end = "../../cmd/cardtell/doc/trust.md", "<!-- reliability -->\n", "<!-- /reliability -->"
	old, err := os.ReadFile(path)
	require.NoError(t, err)
	head, rest, ok := strings.Cut(string(old), begin)
	shown, tail, ok2 := strings.Cut(rest, end)
	require.True(t, ok && ok2, "the page has no place for the table")
	if keep.Writes() {
		require.NoError(t, os.WriteFile(path, []byte(head+begin+table+end+tail), 0o644))
		return
	}
	assert.Equal(t, table, shown, "stale; .ci/calibrate identify rewrites it")
}

// fault makes a site's reads as a fault of the line does: one of the wiring at all of them, a single misread at one.
func (s *simulator) fault(st *site, fault Fault) {
	if fault.Wiring() {
		for i := range st.seen {
			st.seen[i][0].Bits = fault.Undo(st.seen[i][0].Bits)
		}
		return
	}
	read := &st.seen[s.rng.IntN(len(st.seen))][0].Bits
	at := s.rng.IntN(read.Len())
	switch fault {
	case FlippedBit:
		*read = read.WithBit(at, 1^read.Bit(at))
	case LostBit:
		*read, _ = read.Delete(at)
	case ExtraBit:
		*read, _ = read.Insert(at, uint(s.rng.IntN(2)))
	}
}

// visible reports whether the checks of the site's format can see that something is wrong.
func (st *site) visible() bool {
	for i := range st.seen {
		if c, err := st.format.Read(st.seen[i][0].Bits); err != nil || !c.Record.OK() {
			return true
		}
	}
	return false
}

// inverted reports whether the checks hold as well if all bits of the site's reads, as they came in, are inverted: then
// they say nothing about which of a fault and the two lines swapped there is.
func (st *site) inverted() bool {
	for i := range st.seen {
		c, err := st.format.Read(st.seen[i][0].Bits.Invert())
		if err != nil || !c.Record.OK() {
			return false
		}
	}
	return true
}

// TestFaultsAreNamed: on five-card sites with a fault that parity can see, the first candidate names it. Where parity
// can't tell it from swapped lines, as with halves of odd size, only the numbers can: then the first candidate is right
// as often as it says.
func TestFaultsAreNamed(t *testing.T) {
	sites := 1000
	if testing.Short() {
		sites = 300
	}
	for fault := SwappedLines; fault <= FlippedBit; fault++ {
		t.Run(fault.String(), func(t *testing.T) {
			s := newSimulator(simSeed)
			ranker, err := New(s.cat)
			require.NoError(t, err)
			named, seen, twins, right, stated := 0, 0, 0, 0, 0.0
			wrong := map[string]int{}
			for seen < sites {
				st := s.site(s.format(), 5)
				if len(st.format.Layout.Checks()) == 0 {
					continue // nothing in the read could show it
				}
				s.fault(&st, fault)
				if !st.visible() {
					continue
				}
				ans, err := ranker.Rank(st.seen)
				require.NoError(t, err)
				if fault != SwappedLines && st.inverted() {
					twins++
					if len(ans.Candidates) > 0 {
						c := &ans.Candidates[0]
						stated += c.Probability
						if c.Fault == fault && c.Format.Layout.Len() == st.format.Layout.Len() {
							right++
						}
					}
					continue
				}
				seen++
				if len(ans.Candidates) > 0 {
					c := &ans.Candidates[0]
					if c.Fault == fault && c.Format.Layout.Len() == st.format.Layout.Len() && c.Probability > ans.Unknown {
						named++
						continue
					}
					wrong[fmt.Sprintf("%s: %s %s", st.format.ID, c.Format.ID, c.Fault)]++
					continue
				}
				wrong[st.format.ID+": nothing fits"]++
			}
			t.Logf("seed %d: named first at %.1f %% of %d sites; else %v", simSeed, 100*float64(named)/float64(seen), seen,
				wrong)
			assert.GreaterOrEqual(t, float64(named)/float64(seen), 0.90)
			if twins > 100 {
				said, is := stated/float64(twins), float64(right)/float64(twins)
				t.Logf("parity can't tell it from swapped lines on %d more sites: first stated %.3f, right %.3f", twins, said, is)
				assert.InDelta(t, said, is, 0.02)
			}
		})
	}
}

// Where parity cannot see a fault of the wiring, both readings are shown. Which formats those are is known from the
// sizes of their parity groups: with groups of even size all bits can be inverted unseen, and the 26-bit frame can be
// inverted and reversed.
func TestInvisibleWiringShowsBothReadings(t *testing.T) {
	ranker, err := New(formats.Builtin())
	require.NoError(t, err)
	for _, test := range []struct {
		read  string
		fault Fault
	}{
		{"26:32D687E", SwappedReversed},
		{"111010100000111100010010000000", SwappedReversed},
		{"0001100000011100111010100001100010", SwappedReversed},
		{"0001100000011100100111100010010000001", SwappedReversed},
		{"100010010011001011000000010110100100", SwappedLines},
	} {
		s, err := formats.ParseSightings(test.read)
		if err != nil {
			s, err = formats.ParseSightings("bits:" + test.read)
		}
		require.NoError(t, err)
		ans, err := ranker.Rank([]formats.Sightings{s})
		require.NoError(t, err)
		faults := map[Fault]bool{}
		for _, c := range ans.Candidates {
			faults[c.Fault] = true
		}
		assert.True(t, faults[None], test.read)
		assert.True(t, faults[test.fault], "%s: %v", test.read, test.fault)
	}
}
