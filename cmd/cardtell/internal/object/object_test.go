package object

import (
	"bytes"
	"encoding/json"
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// What is written is what encoding/json of the standard library gives for the same in a struct.
func TestAsEncodingJSON(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		type item struct {
			Text string `json:"text,omitempty"`
		}
		var v struct {
			Text   string   `json:"text,omitempty"`
			Texts  []string `json:"texts,omitempty"`
			Int    int      `json:"int,omitempty"`
			Ints   []int    `json:"ints,omitempty"`
			Float  float64  `json:"float"`
			Bool   bool     `json:"bool"`
			Raw    string   `json:"raw,omitempty"`
			Items  []item   `json:"items"`
			Filled []item   `json:"filled,omitempty"`
			Some   *item    `json:"some,omitempty"`
		}
		text := rapid.Custom(func(t *rapid.T) string { // texts of any bytes too
			return rapid.OneOf(rapid.String(), rapid.Just("a\"\\\x00\xff\u2028<&>\n"), rapid.StringN(1, 9, 9)).Draw(t, "text")
		})
		some := text.Filter(func(s string) bool { return s != "" })
		v.Text, v.Texts = text.Draw(t, "text"), rapid.SliceOf(some).Draw(t, "texts")
		v.Int, v.Ints = rapid.Int().Draw(t, "int"), rapid.SliceOf(rapid.IntMin(1)).Draw(t, "ints")
		v.Float = rapid.OneOf(rapid.Float64Range(-1, 1), rapid.Just(0.0), rapid.Just(math.Nextafter(1e-6, 0)),
			rapid.Float64Range(0, 1e-5), rapid.Float64Range(-1e22, 1e22), rapid.Just(1.5e-300)).Draw(t, "float")
		v.Bool, v.Raw = rapid.Bool().Draw(t, "bool"), rapid.StringMatching("[0-9a-z]*").Draw(t, "raw")
		v.Items = []item{}
		for range rapid.IntRange(0, 3).Draw(t, "items") {
			v.Items = append(v.Items, item{text.Draw(t, "item")})
		}
		if v.Filled = v.Items; v.Text != "" {
			v.Some = &item{v.Text}
		}

		got := Of(func(w *Writer) {
			w.Text("text", v.Text)
			w.Texts("texts", v.Texts[:len(v.Texts)/2], v.Texts[len(v.Texts)/2:])
			w.Int("int", v.Int)
			w.Ints("ints", v.Ints)
			w.Float("float", v.Float)
			w.Bool("bool", v.Bool)
			w.Append("raw", func(dst []byte) []byte { return append(dst, v.Raw...) })
			List(w, "items", v.Items, func(i *item) { w.Text("text", i.Text) })
			w.SomeArray("filled", func() {
				for _, i := range v.Items {
					w.Object("", func() { w.Text("text", i.Text) })
				}
			})
			w.SomeObject("some", func() { w.Text("text", v.Text) })
		})

		var want bytes.Buffer
		enc := json.NewEncoder(&want)
		enc.SetEscapeHTML(false)
		require.NoError(t, enc.Encode(v))
		require.Equal(t, want.String(), string(got)+"\n")
	})
}
