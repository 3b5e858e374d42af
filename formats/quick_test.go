package formats

import (
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// Quick must say what the forms say, or nothing: over every format and form, cards at random and texts with every kind of
// mistake.
func TestQuickSaysWhatFormsSay(t *testing.T) {
	rnd := rand.New(rand.NewPCG(1, 2))
	cat := Builtin()
	quick := 0
	for i := range cat.Len() {
		f := cat.At(i)
		q, ok := f.Quick()
		if !ok {
			continue
		}
		quick++
		for _, from := range Forms() {
			for range 200 {
				v := rnd.Uint64() >> (64 - uint(q.width))
				if rnd.IntN(2) == 0 {
					v >>= rnd.UintN(uint(q.width))
				}
				c, err := q.Card(v, f.all())
				require.NoError(t, err)
				text, err := from.Text(&c)
				if err != nil {
					require.Nil(t, q.Parser(from))
					require.Nil(t, q.Appender(from))
					break
				}
				sameWritten(t, &q, from, &c, v)
				sameRead(t, f, &q, from, text)
				sameRead(t, f, &q, from, spoilt(rnd, text))
			}
		}
	}
	require.Greater(t, quick, 15, "most formats are quick")
}

// sameWritten holds what Quick writes against the form, also for cards of which not all is known.
func sameWritten(t *testing.T, q *Quick, fm Form, c *Card, v uint64) {
	t.Helper()
	write := q.Appender(fm)
	if write == nil {
		return
	}
	for known := range c.Known + 1 {
		part, err := q.Card(v, known)
		require.NoError(t, err)
		want, wantErr := fm.Text(&part)
		got, ok := write([]byte("x"), v, known)
		if !ok {
			require.Equal(t, "x", string(got), "what was not written leaves nothing")
			require.Error(t, wantErr)
			continue
		}
		require.NoError(t, wantErr)
		require.Equal(t, "x"+want, string(got), "%s %s", c.Format.ID, fm.Name)
	}
}

func sameRead(t *testing.T, f *Format, q *Quick, fm Form, text string) {
	t.Helper()
	parse := q.Parser(fm)
	if parse == nil {
		return
	}
	v, known, ok := parse([]byte(text))
	if !ok {
		return
	}
	got, err := q.Card(v, known)
	require.NoError(t, err)
	want, err := fm.Parse(f, text)
	require.NoError(t, err, "%s %s %q", f.ID, fm.Name, text)
	require.Equal(t, want, got, "%s %s %q", f.ID, fm.Name, text)
}

// spoilt changes a text somewhere.
func spoilt(rnd *rand.Rand, text string) string {
	at := rnd.IntN(len(text) + 1)
	switch rnd.IntN(5) {
	case 0:
		return text[:at] + string("0123456789AFaf,-/ x"[rnd.IntN(19)]) + text[at:]
	case 1:
		return text[:at]
	case 2:
		return text[:at] + text[min(at+1, len(text)):]
	case 3:
		return strings.TrimLeft(text, "0")
	}
	return text + text
}

func BenchmarkQuick(b *testing.B) {
	f := Builtin().Find("26-8-16")[0]
	q, _ := f.Quick()
	from, _ := FormByName("decimal")
	to, _ := FormByName("pair")
	parse, write := q.Parser(from), q.Appender(to)
	text, dst := []byte("9876543"), make([]byte, 0, 64)
	b.ReportAllocs()
	for b.Loop() {
		v, known, _ := parse(text)
		dst, _ = write(dst[:0], v, known)
	}
}
