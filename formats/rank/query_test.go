package rank

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/wiegand"
)

// stripe is a message on track 2, ISO/IEC 7811-2: start sentinel, digits, end sentinel, longitudinal check; five bits a character, the
// last one making the ones odd. It is made here from the description alone.
func stripe(digits string) string {
	text, columns := "", [4]int{}
	for _, v := range append(append([]int{11}, digitsOf(digits)...), 15) {
		ones := 0
		for k := range 4 {
			bit := v >> k & 1
			ones += bit
			columns[k] ^= bit
			text += fmt.Sprint(bit)
		}
		text += fmt.Sprint(1 - ones%2)
	}
	ones := 0
	for _, c := range columns {
		ones += c
		text += fmt.Sprint(c)
	}
	return text + fmt.Sprint(1-ones%2)
}

func digitsOf(s string) (d []int) {
	for _, c := range s {
		d = append(d, int(c-'0'))
	}
	return d
}

// Zeros before and after a message on a stripe are clocking, in whatever direction the card was swiped; a message without any is
// left as it is, and so is what has none in it.
func TestClocking(t *testing.T) {
	r, err := New(formats.Builtin())
	require.NoError(t, err)
	require.Equal(t, "11010"+"00001"+"10000"+"01000"+"11001"+"11111"+"00100", stripe("0123"), "the example in the catalogue")
	zeros := func(n int) string { return fmt.Sprintf("%0*d", n, 0)[:n] }
	for _, digits := range []string{"7", "0123", "1234567890", "00000000000000", "99999999999999999999"} {
		message := stripe(digits)
		for _, before := range []int{0, 1, 5, 13, 40} {
			for _, after := range []int{0, 1, 5, 22, 40} {
				b := bitsOf(t, zeros(before)+message+zeros(after))
				cut, ok := r.withoutClocking(b)
				back, okBack := r.withoutClocking(b.Reverse())
				assert.Equal(t, okBack, ok, b)
				if before == 0 && (len(message)+after)%5 == 0 {
					assert.False(t, ok, b)
					assert.Equal(t, b, cut)
					continue
				}
				require.True(t, ok, "%d zeros, %s, %d zeros", before, digits, after)
				assert.Equal(t, message, cut.String())
				assert.Equal(t, message, back.Reverse().String())
			}
		}
		wrong := bitsOf(t, "00"+message+"00")
		_, ok := r.withoutClocking(wrong.WithBit(9, 1-wrong.Bit(9)))
		assert.False(t, ok, "a digit whose parity fails")
		_, ok = r.withoutClocking(bitsOf(t, "00"+message+"01"))
		assert.False(t, ok, "something else after it")
	}
	_, ok := r.withoutClocking(bitsOf(t, "001101000000"))
	assert.False(t, ok)
}

// Cards are taken once each, in an order of their own, with all that was seen of them; slots have what was seen first, second and so on.
func TestDigest(t *testing.T) {
	r, err := New(frozenCatalogue(t))
	require.NoError(t, err)
	var q query
	require.NoError(t, r.digest(&q, parse(t, "26:32D687E=46143=150,46143", "34:1D9CB0CE7", "46143", "26:32D687E=46143", "46143", "uid:04A23B5C=12")))
	require.Len(t, q.cards, 4)
	assert.Equal(t, 2, q.reads)
	assert.Equal(t, []int{26, 34}, q.lens)
	assert.Equal(t, q.input[0], q.input[3], "the same read")
	assert.Equal(t, q.input[2], q.input[4], "the same print")
	seen := map[int]bool{}
	for _, at := range q.input {
		seen[at] = true
	}
	assert.Len(t, seen, 4)
	for i := 1; i < len(q.cards); i++ {
		assert.LessOrEqual(t, q.cards[i-1].read.Compare(q.cards[i].read), 0)
	}
	both := q.cards[q.input[0]]
	require.Len(t, both.more, 2)
	assert.Equal(t, []string{"46143", "150,46143"}, []string{both.more[0].text, both.more[1].text})
	counts := map[formats.SightingKind][]int{}
	for _, s := range q.slots {
		counts[s.kind] = append(counts[s.kind], len(s.entries))
	}
	assert.Equal(t, map[formats.SightingKind][]int{formats.Printed: {3, 1}, formats.Serial: {1}}, counts)
	require.NoError(t, r.digest(&q, parse(t, "46143=1=2", "46144=3=4", "46145=5")))
	counts[formats.Printed] = nil
	for _, s := range q.slots {
		counts[s.kind] = append(counts[s.kind], len(s.entries))
	}
	assert.Equal(t, []int{3, 3, 2}, counts[formats.Printed])
	require.NoError(t, r.digest(&q, parse(t, "26:32D687E")))
	assert.Equal(t, []int{26}, q.lens)
	assert.Empty(t, q.slots)
	assert.Len(t, q.input, 1)
	_, err = r.Rank(parse(t, "26:32D687E=26:32D687E"))
	assert.NoError(t, err, "the same read twice of one card")
	_, err = r.Rank([]formats.Sightings{parse(t, "46143")[0], nil})
	assert.EqualError(t, err, "card 2: nothing is known of it")
}

// What a print looks like: digits and separators, and how likely just that is by chance, by its length.
func TestSeen(t *testing.T) {
	for _, test := range []struct {
		text, digits, bare, high, low string
		pair                          bool
		floor                         float64
	}{
		{"0046143", "0046143", "46143", "", "", false, 0.85 * 0.08 * 1e-7},
		{"150,46143", "15046143", "15046143", "150", "46143", true, 0.85 * 0.08 * 0.2 * 1e-8},
		{"012-00345", "01200345", "1200345", "12", "345", true, 0.85 * 0.08 * 0.2 * 1e-8},
		{"1 2 3", "123", "123", "", "", false, 0.85 * 0.08 * 0.2 * 1e-3},
		{"hex:96B43F", "96B43F", "96B43F", "", "", false, 0.15 * 0.08 * math.Exp2(-24)},
		{"uid:04A23B5C", "04A23B5C", "4A23B5C", "", "", false, math.Exp2(-32)},
	} {
		var s seen
		switch sight := parse(t, "26:32D687E="+test.text)[0][1]; {
		case test.text == "1 2 3":
			s = newSeen(formats.Sighting{Kind: formats.Printed, Text: test.text})
		default:
			s = newSeen(sight)
		}
		assert.Equal(t, []string{test.digits, test.bare, test.high, test.low}, []string{s.digits, s.bare, s.high, s.low}, test.text)
		assert.Equal(t, test.pair, s.pair, test.text)
		assert.InEpsilon(t, test.floor, s.floor, 1e-9, test.text)
	}
}

// The parts of a chip serial, byte by byte.
func TestPartsOfSerials(t *testing.T) {
	serial := parse(t, "uid:04ED5600112233")[0][0].Bits
	want := []string{"04ED5600112233", "3322110056ED04", "04ED5600", "0056ED04", "00112233", "33221100", "04ED56", "56ED04", "112233", "332211"}
	for i, p := range parts {
		b, ok := p.take(serial)
		require.True(t, ok)
		assert.Equal(t, want[i], string(b.AppendHex(nil)), p.name)
	}
	short := parse(t, "uid:04ED5600")[0][0].Bits
	for _, p := range parts {
		_, ok := p.take(short)
		assert.Equal(t, p.bytes != 4, ok, p.name)
	}
}

// What can be a chip serial: the number alone, and all data.
func TestDataBits(t *testing.T) {
	pair, _ := cardOf(t, "26-8-16", 150, 46143)
	one, _ := cardOf(t, "26-0-24", 9876543)
	text := func(all []wiegand.Bits) (s []string) {
		for _, b := range all {
			s = append(s, b.Hex())
		}
		return s
	}
	assert.Equal(t, []string{"16:B43F", "24:96B43F"}, text(dataBits(&pair)))
	assert.Equal(t, []string{"24:96B43F"}, text(dataBits(&one)))
	s := newSeen(parse(t, "uid:96B43F11")[0][0])
	for _, p := range parts {
		o := option{part: &p}
		chance, follows := o.matchSerial(&one, &s)
		assert.Equal(t, p.name == "its first 3 bytes", follows, p.name)
		if follows {
			assert.InEpsilon(t, 0.4*math.Exp2(-32)+0.6*math.Exp2(-8), chance, 1e-9)
			c, like, ok := o.parseSerial(one.Format, &s)
			assert.True(t, ok && sameCard(c, one))
			assert.InEpsilon(t, 0.6*math.Exp2(-8), like, 1e-9)
		} else {
			assert.InEpsilon(t, 0.4*math.Exp2(-32), chance, 1e-9)
		}
	}
}

// How like a print is to what its form gives: as written, with other separators, other zeros, or the last digits only.
func TestLikeness(t *testing.T) {
	for _, test := range []struct {
		form, gives, print string
		want               float64
	}{
		{"number", "46143", "46143", 0.72}, {"number", "46143", "461-43", 0.10}, {"number", "46143", "0046143", 0.12}, {"number10", "0000046143", "46143", 0.12},
		{"number", "46143", "6143", 0.03}, {"number", "46143", "143", 0}, {"number", "46143", "46144", 0}, {"number", "6143", "46143", 0},
		{"pair", "150,46143", "150-46143", 0.10}, {"pair", "150,46143", "15046143", 0.10}, {"pair", "150,46143", "0150,46143", 0.12}, {"pair", "150,46143", "1504,6143", 0},
		{"pair", "150,00345", "150,345", 0.12}, {"joined", "15046143", "150,46143", 0}, {"joined", "15046143", "15046143", 0.72},
		{"hex", "96B43F", "96:B4:3F", 0.10},
	} {
		o, s := option{}, newSeen(formats.Sighting{Kind: formats.Printed, Text: test.print})
		o.form, _ = formats.FormByName(test.form)
		assert.InDelta(t, test.want, o.likeness([]byte(test.gives), &s), 1e-12, "%s gives %s, printed %s", test.form, test.gives, test.print)
	}
}

// Cards are told apart by how they look at a glance.
func TestLooks(t *testing.T) {
	for text, want := range map[string]printLook{
		"": {}, "0": {}, "46143": {}, "0046143": {zeros: true, digits: 7}, "150,46143": {pair: true}, "015/46143": {pair: true, zeros: true, digits: 8}, "00": {zeros: true, digits: 2},
	} {
		assert.Equal(t, want, looks(text), text)
	}
	s := splitter{cards: parse(t, "26:32D687E=46143", "46143", "34:1D9CB0CE7", "26:32D6882", "uid:04ED5600=7")}
	assert.Equal(t, [][]int{{0, 3}, {1, 4}, {2}}, ByLength(s.cards))
	var prints []string
	for _, c := range s.cards {
		prints = append(prints, printOf(c))
	}
	assert.Equal(t, []string{"46143", "46143", "", "", "7"}, prints)
	assert.Equal(t, [][]int{{0, 4}, {2}}, s.dealt([]int{0, 2, 4}, func(c formats.Sightings) bool { return printOf(c) != "" }))
}

// How much likelier two or three kinds are than one: Bayes over all ways to deal the cards out, which add up to what the prior has.
func TestGainOfKinds(t *testing.T) {
	r, err := New(frozenCatalogue(t))
	require.NoError(t, err)
	s := splitter{ranker: r, cards: parse(t, "26:32D687E", "26:2F20023", "34:1D9CB0CE7", "26:2F20057", "34:1D9CB0CE7=1")}
	all := []int{0, 1, 2, 3, 4}
	joint, prior := s.evidence(all), 0.0
	for code := 1; code < 1<<len(all)-1; code++ { // every way to deal them out in two
		groups := [][]int{nil, nil}
		for i := range all {
			groups[code>>i&1] = append(groups[code>>i&1], i)
		}
		parts := s.evidence(groups[0]) + s.evidence(groups[1])
		prior += math.Exp(s.gain(all, groups, joint)+joint-parts) * (1 - severalKinds)
	}
	assert.InDelta(t, severalKinds*4/5, prior, 1e-9, "five cards in two: five sizes, of which one leaves none for the second kind")
	three := [][]int{{0, 1}, {2, 4}, {3}}
	parts := s.evidence(three[0]) + s.evidence(three[1]) + s.evidence(three[2])
	want := severalKinds / 5 / 10 * severalKinds / 3 / 3 / (1 - severalKinds)
	assert.InEpsilon(t, want, math.Exp(s.gain(all, three, joint)+joint-parts), 1e-9)
	assert.InDelta(t, 0.5, share(0), 1e-12)
	assert.InDelta(t, 0.75, share(math.Log(3)), 1e-12)
}

// Two kinds of one length that prints and checks tell apart; the card between them is in doubt, and of three nothing is said.
func TestKindsOfFew(t *testing.T) {
	r, err := New(frozenCatalogue(t))
	require.NoError(t, err)
	var texts []string
	for i := range 6 {
		_, a := cardOf(t, "26-8-16", 150, uint64(46143+i))
		_, b := cardOf(t, "26-0-24", uint64(1234567+i))
		texts = append(texts, a.Hex()+fmt.Sprintf("=150,%05d", 46143+i), b.Hex()+fmt.Sprintf("=%d", 1234567+i))
	}
	k, err := r.Kinds(parse(t, texts...))
	require.NoError(t, err)
	assert.Equal(t, [][]int{{0, 2, 4, 6, 8, 10}, {1, 3, 5, 7, 9, 11}}, k.Groups)
	assert.Greater(t, k.Probability, 0.999)
	assert.Empty(t, k.Doubtful)
	k, err = r.Kinds(parse(t, slices.Concat(texts, []string{"34:1D9CB0CE7"})...))
	require.NoError(t, err)
	assert.Equal(t, [][]int{{0, 2, 4, 6, 8, 10}, {1, 3, 5, 7, 9, 11}, {12}}, k.Groups)
	var bare []string // told apart by how many digits they have
	for i := range 6 {
		_, a := cardOf(t, "26-8-16", 150, uint64(46143+i))
		_, b := cardOf(t, "26-0-24", uint64(1234567+i))
		bare = append(bare, a.Hex()+fmt.Sprintf("=%d", 46143+i), b.Hex()+fmt.Sprintf("=%d", 1234567+i))
	}
	k, err = r.Kinds(parse(t, bare...))
	require.NoError(t, err)
	assert.Equal(t, [][]int{{0, 2, 4, 6, 8, 10}, {1, 3, 5, 7, 9, 11}}, k.Groups)
	k, err = r.Kinds(parse(t, texts[:3]...))
	require.NoError(t, err)
	assert.Equal(t, [][]int{{0, 1, 2}}, k.Groups, "too few to tell")
	assert.Zero(t, k.Probability)
	k, err = r.Kinds(parse(t, texts[0], texts[2], texts[4], texts[6], texts[8]))
	require.NoError(t, err)
	assert.Equal(t, [][]int{{0, 1, 2, 3, 4}}, k.Groups)
	assert.Less(t, k.Probability, 0.01)
	_, err = r.Kinds(nil)
	assert.Error(t, err)
}
