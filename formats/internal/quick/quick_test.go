package quick

import (
	"encoding/hex"
	"fmt"
	"math/rand/v2"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/wiegand"
)

// quickFormats are those of the catalogue, and some whose fields stand in another order.
func quickFormats() []*formats.Format {
	var all []*formats.Format
	for cat, i := formats.Builtin(), 0; i < cat.Len(); i++ {
		all = append(all, cat.At(i))
	}
	for i, fields := range []string{
		`{ name = "number", bits = "1-20" }, { name = "facility", bits = "21-28" }`,
		`{ name = "x", bits = "1-5" }, { name = "number", bits = "6-20" }, { name = "facility", bits = "21-25" }, { name = "y", bits = "26-28" }`,
		`{ name = "facility", bits = "1-8" }, { name = "number", bits = "9-24" }, { name = "issue", bits = "25-28" }`,
	} {
		f := must(formats.ParseDefinitions("f", fmt.Appendf(nil,
			"[[format]]\nid = \"order-%d\"\ndescription = \"d\"\nlength = 28\nfields = [%s]\n", i, fields)))
		all = append(all, &f[0])
	}
	return all
}

// Quick must say what the forms say, or nothing: over every format and form, cards at random and texts with every kind
// of mistake. What was written without a mistake it must read, up to 19 digits or 16 in hex; and plain digits, up to
// 15, wherever the form does.
func TestQuickSaysWhatFormsSay(t *testing.T) {
	rnd := rand.New(rand.NewPCG(1, 2))
	quick := 0
	times := 200
	if testing.Short() {
		times = 80
	}
	for _, f := range quickFormats() {
		q, ok := Of(f)
		if !ok {
			continue
		}
		quick++
		for _, from := range formats.Forms() {
			for range times {
				v := rnd.Uint64() >> (64 - uint(q.width))
				if rnd.IntN(2) == 0 {
					v >>= rnd.UintN(uint(q.width))
				}
				c, err := q.Card(v, q.all)
				require.NoError(t, err)
				text, err := from.Text(&c)
				if err != nil {
					require.Nil(t, q.Parser(from))
					require.Nil(t, q.Appender(from))
					break
				}
				sameWritten(t, &q, from, &c, v)
				for _, text := range []string{text, strings.TrimLeft(text, "0"), strings.ToLower(text)} {
					read := sameRead(t, f, &q, from, text) || refused(f, &q, from, text)
					long := len(text) > 19 || strings.Contains(from.Name, "hex") && len(text) > 16
					require.True(t, read || long, "%s %s %q", f.ID, from.Name, text)
				}
				digits := strconv.FormatUint(rnd.Uint64N(1e15)>>rnd.IntN(50), 10)
				for _, text := range []string{spoilt(rnd, text), digits, "0" + digits[1:]} {
					read := sameRead(t, f, &q, from, text) || refused(f, &q, from, text)
					require.True(t, read || len(text) > 15 || strings.Trim(text, "0123456789") != "", "%s %s %q", f.ID, from.Name,
						text)
				}
			}
		}
	}
	require.Greater(t, quick, 15, "most formats are quick")
}

// Good must say of digits what the form says: over every format, good reads, those with one bit flipped, and any
// digits.
func TestGoodSaysWhatFormsSay(t *testing.T) {
	rnd := rand.New(rand.NewPCG(1, 4))
	said := map[bool]int{}
	for _, f := range quickFormats() {
		n := f.Layout.Len()
		for _, name := range []string{"pair", "read-decimal", "read-hex", "read-hex-left"} {
			fm, _ := formats.FormByName(name)
			for i := range 100 {
				c := f.Blank()
				for field := range f.Layout.Spec().Fields {
					if with, err := c.With(field, strconv.FormatUint(rnd.Uint64()>>rnd.IntN(64), 10)); err == nil {
						c = with
					}
				}
				b := c.Record.Encode()
				if i%3 == 0 {
					at := rnd.IntN(n)
					b = b.WithBit(at, 1-b.Bit(at))
				}
				text := writtenRead(name, b)
				if i%5 == 0 {
					text = fmt.Sprintf("%0*d", len(text), rnd.Uint64N(1e16)>>rnd.IntN(50))
				}
				short := strings.TrimLeft(text, "0")
				good, ok := Good(f, fm, []byte(short))
				require.Equal(t, name != "pair" && len(short) <= 16, ok, text)
				if ok && short != "" {
					_, err := fm.Parse(f, text)
					require.Equal(t, err == nil, good, "%s %s %q: %v", f.ID, name, text, err)
					said[good]++
				}
			}
		}
	}
	require.Greater(t, min(said[true], said[false]), 1000)
}

// writtenRead writes a read in a form.
func writtenRead(form string, b wiegand.Bits) string {
	switch form {
	case "read-hex":
		return b.Hex()
	case "read-hex-left":
		return hex.EncodeToString(b.AppendBytesLeft(nil))
	}
	return fmt.Sprintf("%d", b)
}

// A field of a card is set and nothing else; one that does not fit leaves the card as it was.
func TestQuickFields(t *testing.T) {
	rnd := rand.New(rand.NewPCG(1, 3))
	for _, f := range quickFormats() {
		q, ok := Of(f)
		if !ok {
			continue
		}
		require.True(t, q.Whole(q.all))
		require.False(t, q.Whole(q.all>>1))
		for range 20 {
			card := rnd.Uint64() >> (64 - uint(q.width))
			for k, field := range f.Layout.Spec().Fields {
				width := uint(field.Bits.Len())
				value := rnd.Uint64() >> (64 - width)
				got, ok := q.WithField(card, k, value)
				require.True(t, ok)
				want := must(must(q.Card(card, q.all)).With(k, strconv.FormatUint(value, 10)))
				require.Equal(t, want, must(q.Card(got, q.all)), "%s: %s = %d in %x", f.ID, field.Name, value, card)
				require.Equal(t, value, q.Field(got, k))
				if width < 64 {
					got, ok = q.WithField(card, k, 1<<width)
					require.False(t, ok)
					require.Equal(t, card, got)
				}
			}
		}
	}
}

// Machine words hold 1 to 64 data bits.
func TestQuickWidths(t *testing.T) {
	for n := 1; n <= 66; n++ {
		f := must(formats.ParseDefinitions("f", fmt.Appendf(nil,
			"[[format]]\nid = \"a\"\ndescription = \"d\"\nlength = %d\nfields = [{ name = \"number\", bits = \"2-$\" }]\n"+
				"checks = [{ kind = \"fixed\", bits = \"1\", value = \"1\" }]\n", n+1)))[0]
		q, ok := Of(&f)
		require.Equal(t, n <= 64, ok, n)
		if ok {
			require.Equal(t, n, q.Width())
		}
	}
	f := must(formats.ParseDefinitions("f", []byte("[[format]]\nid = \"a\"\ndescription = \"d\"\nlength = 1\n"+
		"checks = [{ kind = \"fixed\", bits = \"1\", value = \"1\" }]\n")))[0]
	_, ok := Of(&f)
	require.False(t, ok, "no fields")
}

// sameWritten holds what Quick writes against the form, also for cards of which not all is known.
func sameWritten(t *testing.T, q *Format, fm formats.Form, c *formats.Card, v uint64) {
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

// refused reports whether the form does not read a text, or Quick does not know the form.
func refused(f *formats.Format, q *Format, fm formats.Form, text string) bool {
	_, err := fm.Parse(f, text)
	return err != nil || q.Parser(fm) == nil
}

func sameRead(t *testing.T, f *formats.Format, q *Format, fm formats.Form, text string) bool {
	t.Helper()
	parse := q.Parser(fm)
	if parse == nil {
		return false
	}
	v, known, ok := parse([]byte(text))
	if !ok {
		return false
	}
	for i := range f.Layout.Spec().Fields {
		require.True(t, known.Has(i) || q.Field(v, i) == 0, "what is not known is 0: %s %s %q", f.ID, fm.Name, text)
	}
	got, err := q.Card(v, known)
	require.NoError(t, err)
	want, err := fm.Parse(f, text)
	require.NoError(t, err, "%s %s %q", f.ID, fm.Name, text)
	require.Equal(t, want, got, "%s %s %q", f.ID, fm.Name, text)
	return true
}

// spoilt changes a text somewhere.
func spoilt(rnd *rand.Rand, text string) string {
	at := rnd.IntN(len(text) + 1)
	switch rnd.IntN(5) {
	case 0:
		return text[:at] + string("0123456789AFaf,-/ x:@G`g"[rnd.IntN(24)]) + text[at:]
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
	f := formats.Builtin().Find("26-8-16")[0]
	q, _ := Of(f)
	from, _ := formats.FormByName("decimal")
	to, _ := formats.FormByName("pair")
	parse, write := q.Parser(from), q.Appender(to)
	text, dst := []byte("9876543"), make([]byte, 0, 64)
	b.ReportAllocs()
	for b.Loop() {
		v, known, _ := parse(text)
		dst, _ = write(dst[:0], v, known)
	}
}

func must[T any](v T, err error) T {
	if err != nil {
		panic(err)
	}
	return v
}
