package picture

import (
	"bytes"
	"encoding/xml"
	"errors"
	"io"
	"math/rand/v2"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/net/html"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/wiegand"
)

// plateOf is a plate of the format's read.
func plateOf(t *testing.T, id, read string) Plate {
	t.Helper()
	b := wiegand.MustParseBits(read)
	for _, f := range formats.Builtin().Find(id) {
		if card, err := f.Read(b); err == nil {
			return Plate{Number: 1, Seen: read, Card: &card, Chance: "90.1 %", Evidence: []string{"it is so"}}
		}
	}
	t.Fatalf("no %s of %d bits", id, b.Len())
	return Plate{}
}

// nasty is a text that would break a file, or say something else than it holds, if it were written as it is.
const nasty = "</text><script src='http://x/'>&amp;\"'\x00\x01\x1b[31m\u202e321\u2066 ]]> {{.}} <?xml"

// svgOf writes a sheet and reads it as XML: the texts that it shows, and its elements by name.
func svgOf(t *testing.T, s Sheet) (text string, elements map[string]int) {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, s.WriteSVG(&b))
	return parsed(t, &b)
}

func parsed(t *testing.T, r io.Reader) (text string, elements map[string]int) {
	t.Helper()
	d, elements := xml.NewDecoder(r), map[string]int{}
	ids := map[string]bool{}
	for {
		token, err := d.Token()
		if errors.Is(err, io.EOF) {
			return text, elements
		}
		require.NoError(t, err)
		switch token := token.(type) {
		case xml.StartElement:
			elements[token.Name.Local]++
			for _, a := range token.Attr {
				if a.Name.Local == "id" {
					assert.False(t, ids[a.Value], "id %s twice", a.Value)
					ids[a.Value] = true
				}
				if a.Name.Local != "xmlns" && a.Name.Space != "xmlns" {
					assert.NotContains(t, a.Value, "//", "a reference outside the file")
				}
				assert.NotContains(t, a.Value, "NaN")
			}
		case xml.CharData:
			text += string(token) + "\n"
		}
	}
}

// The drawing of every example of the catalogue is well-formed, shows each bit once in order, and names its fields,
// values and checks for those who hear it.
func TestEveryExampleIsDrawn(t *testing.T) {
	t.Parallel()
	tokens := regexp.MustCompile(`font-size="[0-9.]+" fill="(?:white|#1a1a1a)"(?: font-weight="bold")?>([01])</text>`)
	cat := formats.Builtin()
	drawn := 0
	for f := range cat.All() {
		for _, e := range f.Examples {
			p := plateOf(t, f.ID, e.Read.Hex())
			var b bytes.Buffer
			require.NoError(t, Sheet{Plates: []Plate{p}}.WriteSVG(&b))
			shown := ""
			for _, m := range tokens.FindAllStringSubmatch(b.String(), -1) {
				shown += m[1]
			}
			assert.Equal(t, e.Read.String(), shown, f.ID)
			text, elements := parsed(t, &b)
			for name, value := range e.Fields {
				assert.Contains(t, text, name, f.ID)
				assert.Contains(t, text, value, "%s: %s", f.ID, name)
			}
			assert.Equal(t, 1, elements["title"])
			assert.Equal(t, 1, elements["desc"])
			assert.NotContains(t, text, "FAILS", f.ID)
			drawn++
		}
	}
	require.Greater(t, drawn, 30)
}

// A check that fails is said in words and shown by a shape of its own, not only by a colour.
func TestFailingCheckIsMarked(t *testing.T) {
	t.Parallel()
	good, _ := svgOf(t, Sheet{Plates: []Plate{plateOf(t, "26-8-16", "26:32D687E")}})
	bad, _ := svgOf(t, Sheet{Plates: []Plate{plateOf(t, "26-8-16", "26:32D687F")}})
	assert.NotContains(t, good, "FAIL")
	assert.Contains(t, good, "both checks hold")
	assert.Contains(t, bad, "odd FAILS")
	assert.Contains(t, bad, "even holds")
	assert.Contains(t, bad, "1 of 2 checks FAIL")
	assert.Contains(t, bad, "odd parity, bits 14-26: FAILS")
	assert.NotContains(t, bad, "26:32D687E", "the read as it should have been is no reading of it")
	var b bytes.Buffer
	require.NoError(t, Sheet{Plates: []Plate{plateOf(t, "26-8-16", "26:32D687F")}}.WriteSVG(&b))
	assert.Contains(t, b.String(), `stroke-dasharray="4 3"`)
	assert.Contains(t, b.String(), `l6 6m0 -6l-6 6`, "the cross")
}

// What is not known is drawn as not known.
func TestPartOfACard(t *testing.T) {
	t.Parallel()
	f := formats.Builtin().Find("26-8-16")[0]
	card, err := f.Blank().With(f.Number(), "46143")
	require.NoError(t, err)
	p := Plate{Number: 1, Seen: "46143", Card: &card}
	assert.Equal(t, "?????????1011010000111111?", p.Read())
	text, _ := svgOf(t, Sheet{Plates: []Plate{p}})
	assert.Contains(t, text, "facility, bits 2-9: not known")
	assert.Contains(t, text, "even open")
	assert.NotContains(t, text, " holds\n")
}

// A card of no known format shows its bits and claims nothing.
func TestNoFormat(t *testing.T) {
	t.Parallel()
	text, _ := svgOf(t, Sheet{Plates: []Plate{{Number: 1, Seen: "27:1234567",
		Bits: []wiegand.Bits{wiegand.MustParseBits("27:1234567")}}}})
	assert.Contains(t, text, "no known format")
	assert.NotContains(t, text, "number\n")
}

// Whatever comes from outside stays text: in the drawing and on the sheet, which refers to nothing outside of itself.
func TestTextFromOutside(t *testing.T) {
	t.Parallel()
	defs, err := formats.ParseDefinitions("own.toml", []byte(`
[[format]]
id = "x"
description = "</svg><script>alert(1)</script> \u0001\u202e"
length = 8
fields = [{ name = "number", bits = "1-8" }]
`))
	require.NoError(t, err)
	card, err := defs[0].Read(wiegand.MustParseBits("8:5A"))
	require.NoError(t, err)
	s := Sheet{Title: nasty, Notes: []Note{{nasty, []string{nasty}}}, Plates: []Plate{
		{Number: 1, Seen: nasty, Card: &card, Evidence: []string{nasty}, Fault: nasty, Repair: nasty, Chance: "1 %", Mark: 3},
		{Number: 2, Seen: nasty, Bits: []wiegand.Bits{wiegand.MustParseBits("8:5A")}},
	}}
	text, elements := svgOf(t, s)
	assert.Zero(t, elements["script"])
	assert.Contains(t, text, "<script>alert(1)</script>")
	var b bytes.Buffer
	require.NoError(t, s.WriteHTML(&b))
	page := b.String()
	text, elements = parsed(t, strings.NewReader(page))
	assert.Zero(t, elements["script"])
	assert.Contains(t, text, "<script>alert(1)</script>")
	for _, r := range page {
		assert.False(t, r < 0x20 && r != '\n' || r == 0x202e || r == 0x2066, "%U in the page", r)
	}
	assert.Equal(t, elements, elementsOf(t, page), "an HTML parser sees the same elements as an XML parser")
}

// elementsOf counts the elements that an HTML parser makes of a page, but for those of a drawing's title, whose case it
// changes.
func elementsOf(t *testing.T, page string) map[string]int {
	t.Helper()
	doc, err := html.Parse(strings.NewReader(page))
	require.NoError(t, err)
	count := map[string]int{}
	for n := range doc.Descendants() {
		if n.Type == html.ElementNode {
			count[n.Data]++
			for _, a := range n.Attr {
				assert.NotContains(t, []string{"href", "src", "style", "onload"}, a.Key)
			}
		}
	}
	return count
}

// Many cards make a dense sheet: the bits and the numbers of each, and what was found out.
func TestDenseSheet(t *testing.T) {
	t.Parallel()
	for n, lists := range map[int]int{manyPlates: manyPlates, manyPlates + 1: 0} {
		s := Sheet{}
		for range n {
			s.Plates = append(s.Plates, plateOf(t, "26-8-16", "26:32D687E"))
		}
		var b bytes.Buffer
		require.NoError(t, s.WriteHTML(&b))
		assert.Equal(t, lists, strings.Count(b.String(), `<h3>Fields</h3>`))
		assert.Equal(t, n, strings.Count(b.String(), ">0009876543<"))
		assert.Equal(t, 1, elementsOf(t, b.String())["h1"])
	}
}

// A drawing for a phone is no wider than its screen, and has every bit and every check of the read.
func TestNarrow(t *testing.T) {
	t.Parallel()
	s := Sheet{Plates: []Plate{plateOf(t, "37-16-19", "37:15BFB8386A")}, Narrow: true}
	var b bytes.Buffer
	require.NoError(t, s.WriteSVG(&b))
	right := 0.0
	for _, m := range regexp.MustCompile(` (?:x|cx)="([0-9.]+)"`).FindAllStringSubmatch(b.String(), -1) {
		x, err := strconv.ParseFloat(m[1], 64)
		require.NoError(t, err)
		right = max(right, x)
	}
	assert.LessOrEqual(t, right, phoneWidth)
	assert.Greater(t, right, phoneWidth/2)
	bits := regexp.MustCompile(`font-size="12.2"[^>]*>[01]<`).FindAllString(b.String(), -1)
	assert.Len(t, bits, 37)
}

// The page is in one language, has a title, one heading for each card, and a name for each drawing.
func TestSheetForScreenReaders(t *testing.T) {
	t.Parallel()
	s := Sheet{Title: "North stair", Plates: []Plate{plateOf(t, "26-8-16", "26:32D687F"),
		plateOf(t, "37-0-35", "37:15BFB8386A")}}
	var b bytes.Buffer
	require.NoError(t, s.WriteHTML(&b))
	page := b.String()
	counts := elementsOf(t, page)
	assert.Equal(t, 1, counts["h1"])
	assert.Equal(t, 2, counts["h2"])
	assert.Equal(t, 4, counts["svg"], "each for a desk and for a phone")
	assert.Equal(t, 4, counts["desc"])
	assert.Equal(t, 5, counts["title"])
	assert.Contains(t, page, `lang="en"`)
	assert.Contains(t, page, "odd parity, bits 14-26: FAILS.")
	assert.Contains(t, page, "✗ FAILS")
	assert.Contains(t, page, "default-src 'none'", "nothing is asked of the network")
	for _, m := range regexp.MustCompile(`(?:https?:)?//[^"< ]*`).FindAllString(page, -1) {
		assert.Contains(t, []string{"http://www.w3.org/1999/xhtml", "http://www.w3.org/2000/svg"}, m)
	}
}

// The same sheet makes the same bytes.
func TestSheetIsDeterministic(t *testing.T) {
	t.Parallel()
	for _, write := range []func(Sheet, io.Writer) error{Sheet.WriteSVG, Sheet.WriteHTML} {
		var first, second bytes.Buffer
		for _, w := range []io.Writer{&first, &second} {
			require.NoError(t, write(Sheet{Plates: []Plate{plateOf(t, "64-8-32-rows", "64:FF818000CAA974C8")}}, w))
		}
		assert.Equal(t, first.String(), second.String())
		require.ErrorIs(t, write(Sheet{}, full{}), io.ErrShortWrite)
	}
}

// fold loses nothing and keeps to its width, whatever the text.
func TestFold(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(1, 1))
	letters := []rune("ab c  é漢字e\u0301")
	for range 3000 {
		text := ""
		for range r.IntN(60) {
			text += string(letters[r.IntN(len(letters))])
		}
		n := 2 + r.IntN(20)
		lines := fold(text, n)
		assert.Equal(t, strings.ReplaceAll(text, " ", ""), strings.ReplaceAll(strings.Join(lines, ""), " ", ""))
		for _, line := range lines {
			// one more where a wide character stands at the edge
			assert.LessOrEqual(t, columns(line), n+1, "%q of %q", line, text)
		}
	}
}
