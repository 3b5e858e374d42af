package independent

import (
	"fmt"
	"math/big"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/wiegand"
)

// question and answer are those of layouts.py.
type question struct {
	Format string      `json:"format"`
	Read   string      `json:"read,omitempty"`
	Length int         `json:"length,omitempty"`
	Fields [][2]string `json:"fields,omitempty"`
}

type answer struct {
	Fields [][2]string `json:"fields"`
	Checks []check     `json:"checks"`
	Read   *string     `json:"read"`
}

// check is ["even", [1, 2, 3], true].
type check [3]any

func (c check) String() string {
	kind := fmt.Sprint(c[0])
	var bits []string
	if all, ok := c[1].([]any); ok {
		for _, bit := range all {
			bits = append(bits, fmt.Sprint(bit))
		}
	}
	return fmt.Sprintf("%s %s holds: %v", kind, strings.Join(bits, " "), c[2])
}

// perFormat is how many reads, and how many cards, of each format are compared.
func perFormat() int {
	if testing.Short() {
		return 150
	}
	return 3000
}

// Every format of the catalogue says of random reads what the independent implementation says: the same value in each
// field, the same checks over the same bits, the same ones of them failing.
func TestReadsAgainstIndependentLayouts(t *testing.T) {
	rnd := rand.New(rand.NewPCG(seed, 1))
	catalogue := formats.Builtin()
	var questions []question
	var of []*formats.Format
	for f := range catalogue.All() {
		for range perFormat() / len(catalogue.Find(f.ID)) {
			questions = append(questions, question{Format: f.ID, Read: randomRead(rnd, f.Layout).String()})
			of = append(of, f)
		}
	}
	good := 0
	for i, a := range Ask[answer](t, "layouts.py", questions) {
		q, f := questions[i], of[i]
		r, err := f.Layout.Decode(wiegand.MustParseBits("bits:" + q.Read))
		require.NoError(t, err)
		require.Equal(t, byName(a.Fields), byName(fieldsOf(&r)), "format %s, read %s, seed %d", f.ID, q.Read, seed)
		require.Equal(t, sorted(a.Checks), checksOf(&r), "format %s, read %s, seed %d", f.ID, q.Read, seed)
		if r.OK() {
			good++
		}
	}
	t.Logf("%d reads of %d formats, %d of them good", len(questions), catalogue.Len(), good)
	assert.Greater(t, good, len(questions)/4, "of the random reads too few are good")
	assert.Less(t, good, len(questions)*3/4, "of the random reads too few are bad")
}

// Every format makes of random values the read that the independent implementation makes of them, and refuses those
// that do not fit.
func TestCardsAgainstIndependentLayouts(t *testing.T) {
	rnd := rand.New(rand.NewPCG(seed, 2))
	catalogue := formats.Builtin()
	var questions []question
	var of []*formats.Format
	for f := range catalogue.All() {
		for range perFormat() / len(catalogue.Find(f.ID)) {
			questions = append(questions, question{Format: f.ID, Length: f.Layout.Len(), Fields: randomValues(rnd, f.Layout)})
			of = append(of, f)
		}
	}
	refused := 0
	for i, a := range Ask[answer](t, "layouts.py", questions) {
		q, f := questions[i], of[i]
		r, err := f.Layout.Blank(), error(nil)
		for field, value := range q.Fields {
			if err == nil && f.Layout.Spec().Fields[field].Constant == "" {
				r, err = r.WithText(field, value[1])
			}
		}
		if a.Read == nil {
			require.ErrorIs(t, err, wiegand.ErrRange, "format %s, fields %v, seed %d", f.ID, q.Fields, seed)
			refused++
			continue
		}
		require.NoError(t, err, "format %s, fields %v, seed %d", f.ID, q.Fields, seed)
		require.Equal(t, *a.Read, r.Bits().String(), "format %s, fields %v, seed %d", f.ID, q.Fields, seed)
		encoded := r.Encode()
		require.Equal(t, *a.Read, encoded.String(), "format %s, fields %v, seed %d", f.ID, q.Fields, seed)
		require.True(t, f.Layout.Holds(encoded), "format %s, fields %v, seed %d", f.ID, q.Fields, seed)
	}
	t.Logf("%d cards, %d of them with a value that does not fit", len(questions), refused)
	assert.Positive(t, refused)
}

// randomRead returns any bits, or a good read, or a good one with a bit or two misread.
func randomRead(rnd *rand.Rand, l *wiegand.Layout) wiegand.Bits {
	b := wiegand.BitsFromWords([4]uint64{rnd.Uint64(), rnd.Uint64(), rnd.Uint64(), rnd.Uint64()}, l.Len())
	kind := rnd.IntN(5)
	if kind == 0 {
		return b
	}
	r := l.Blank()
	for i, value := range randomValues(rnd, l) {
		if next, err := r.WithText(i, value[1]); err == nil {
			r = next
		}
	}
	b = r.Encode()
	for range max(0, kind-2) {
		i := rnd.IntN(b.Len())
		b = b.WithBit(i, 1-b.Bit(i))
	}
	return b
}

// randomValues returns a value for each field, one in a hundred of them too large.
func randomValues(rnd *rand.Rand, l *wiegand.Layout) (values [][2]string) {
	for _, f := range l.Spec().Fields {
		n, signs := f.Bits.Len(), 10
		text := ""
		switch f.Coding {
		case wiegand.Binary:
			v := new(big.Int)
			for range n {
				v = v.Lsh(v, 1).Or(v, big.NewInt(rnd.Int64N(2)))
			}
			if rnd.IntN(100) == 0 {
				v.SetBit(v, n, 1)
			}
			values = append(values, [2]string{f.Name, v.String()})
			continue
		case wiegand.BCD:
			n /= 4
		case wiegand.Digits5:
			n /= 5
		case wiegand.Signs5:
			n, signs = n/5, 16
		}
		if rnd.IntN(100) == 0 {
			text = "1"
		}
		for range n {
			text += string(rune('0' + rnd.IntN(signs)))
		}
		values = append(values, [2]string{f.Name, text})
	}
	return values
}

// fieldsOf returns the fields of a record as an answer has them.
func fieldsOf(r *wiegand.Record) (fields [][2]string) {
	for i, f := range r.Layout().Spec().Fields {
		fields = append(fields, [2]string{f.Name, r.Text(i)})
	}
	return fields
}

// byName puts the values of each name together: the two may list fields in different orders.
func byName(fields [][2]string) map[string][]string {
	all := map[string][]string{}
	for _, f := range fields {
		all[f[0]] = append(all[f[0]], f[1])
	}
	return all
}

// checksOf returns the checks of a record in words, sorted.
func checksOf(r *wiegand.Record) (all []string) {
	for i, info := range r.Layout().Checks() {
		var bits []any
		for bit := range info.Bits.Bits() {
			bits = append(bits, bit)
		}
		all = append(all, check{info.Kind, bits, !r.Failed().Has(i)}.String())
	}
	slices.Sort(all)
	return all
}

// sorted returns the checks of an answer in words, sorted.
func sorted(checks []check) (all []string) {
	for _, c := range checks {
		all = append(all, c.String())
	}
	slices.Sort(all)
	return all
}

// seed makes the random reads, lists and recordings.
const seed = 1996
