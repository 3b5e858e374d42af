package picture

import (
	"bytes"
	"encoding/xml"
	"errors"
	"io"
	"math/rand/v2"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/wiegand"
	"github.com/cardtell/cardtell/wiegand/line"
)

// drawn makes a read and its drawing.
func drawn(t *testing.T, bits string) Pulses {
	t.Helper()
	d := line.NewDecoder(line.Config{})
	edges, end := line.NewGenerator(line.Profile{}, 1).AppendRead(nil, 0, wiegand.MustParseBits(bits))
	for _, e := range edges {
		require.False(t, d.Feed(e))
	}
	require.True(t, d.Feed(line.Edge{At: end + time.Second, Wire: line.NoWire}))
	return Pulses{Read: d.Read(), Pulses: d.Pulses(), Number: 1}
}

// TestEveryBitIsDrawnOnce reads the drawing back: each bit's value stands once, and the lines have one pulse for each.
func TestEveryBitIsDrawnOnce(t *testing.T) {
	t.Parallel()
	for _, bits := range []string{"1", "10", strings.Repeat("01", 16), strings.Repeat("0011", 8) + "1",
		strings.Repeat("10010", 40)} {
		var b bytes.Buffer
		require.NoError(t, drawn(t, "bits:"+bits).WriteSVG(&b))
		values, pulses := "", 0
		d := xml.NewDecoder(&b)
		size := ""
		for {
			token, err := d.Token()
			if errors.Is(err, io.EOF) {
				break
			}
			require.NoError(t, err)
			switch token := token.(type) {
			case xml.StartElement:
				size = ""
				for _, a := range token.Attr {
					switch a.Name.Local {
					case "font-size":
						size = a.Value
					case "d":
						pulses += strings.Count(a.Value, "V") / 2
					}
				}
			case xml.CharData:
				if size == "15" { // the size of bit values alone
					values += strings.TrimSpace(string(token))
				}
			}
		}
		require.Equal(t, bits, values)
		require.Equal(t, len(bits), pulses)
	}
}

type full struct{}

func (full) Write([]byte) (int, error) { return 0, io.ErrShortWrite }

func TestWriteErrorsAreReturned(t *testing.T) {
	t.Parallel()
	require.ErrorIs(t, drawn(t, "bits:01").WriteSVG(full{}), io.ErrShortWrite)
}

// textPlace is a text of a drawing, and where it stands.
type textPlace struct {
	x, y float64
	text string
	size string
}

// texts returns the texts of a drawing.
func texts(t *testing.T, svg []byte) (all []textPlace, paths []string) {
	t.Helper()
	d := xml.NewDecoder(bytes.NewReader(svg))
	var now textPlace
	for {
		token, err := d.Token()
		if errors.Is(err, io.EOF) {
			return all, paths
		}
		require.NoError(t, err)
		switch token := token.(type) {
		case xml.StartElement:
			now = textPlace{}
			for _, a := range token.Attr {
				switch a.Name.Local {
				case "x":
					now.x, _ = strconv.ParseFloat(a.Value, 64)
				case "y":
					now.y, _ = strconv.ParseFloat(a.Value, 64)
				case "font-size":
					now.size = a.Value
				case "d":
					paths = append(paths, a.Value)
				}
			}
		case xml.CharData:
			if now.text = strings.TrimSpace(string(token)); now.size != "" && now.text != "" {
				all = append(all, now)
			}
		}
	}
}

// Nothing stands on top of anything else, nothing is wider than a telephone's screen: reads whose pulses are steady,
// bounce, come in bursts, or are as many as there can be.
func TestLabelsNeverOverprint(t *testing.T) {
	t.Parallel()
	rng := rand.New(rand.NewPCG(20261127, 1))
	for n := range 300 {
		var pulses []line.Pulse
		at := time.Duration(0)
		for range 1 + rng.IntN(256) {
			pulses = append(pulses, line.Pulse{At: at, Width: 50 * time.Microsecond, Bit: uint8(rng.IntN(2)),
				Faults: line.Faults(rng.IntN(3))})
			at += []time.Duration{0, 15 * time.Microsecond, 100 * time.Microsecond, 2 * time.Millisecond,
				40 * time.Millisecond}[rng.IntN(2+n%4)]
		}
		p := Pulses{Pulses: pulses, Number: n, Names: [2]string{"a.very_long_name_of_a_wire_without_any_blank_in_it_at_all",
			"b"},
			Read: line.Read{End: at + 50*time.Microsecond, Faults: 1<<line.Missing | 1<<line.Doubled}}
		var b bytes.Buffer
		require.NoError(t, p.WriteSVG(&b))
		all, _ := texts(t, b.Bytes())
		values := 0
		rows := map[float64]float64{} // where the last value of each row ends
		for _, text := range all {
			width := map[string]float64{"15": 9, "9": 5.4, "12": 7.2, "13": 7.8,
				"16": 9.6}[text.size] * float64(len([]rune(text.text)))
			if text.size == "15" || text.size == "9" {
				from := text.x - width/2
				if last, ok := rows[text.y]; ok {
					require.GreaterOrEqual(t, from, last, "drawing %d: %q at %v", n, text.text, text)
				}
				rows[text.y] = from + width
				require.LessOrEqual(t, from+width, 390.0)
				require.GreaterOrEqual(t, from, marginLeft-bitStep)
				if text.size == "15" {
					values++
				}
			} else if text.x == margin {
				require.LessOrEqual(t, text.x+width, 390.0, text.text)
			}
		}
		require.Equal(t, len(pulses), values, "drawing %d: each bit has its value", n)
	}
}

// A spike of 1 µs is a hundredth of a line's width on the paper, and is still drawn; so are a dip inside a pulse, and
// DATA between the clock's pulses.
func TestSpikesAreDrawn(t *testing.T) {
	t.Parallel()
	p := drawn(t, "bits:"+strings.Repeat("01", 13))
	low := func(w line.Wire, at, wide time.Duration) []line.Edge {
		return []line.Edge{{At: at, Wire: w, Level: line.Low}, {At: at + wide, Wire: w, Level: line.High}}
	}
	count := func(edges []line.Edge) (falls int) {
		p.Edges = edges
		var b bytes.Buffer
		require.NoError(t, p.WriteSVG(&b))
		_, paths := texts(t, b.Bytes())
		for _, d := range paths {
			if strings.HasPrefix(d, "M58 ") && !strings.Contains(d, "z") {
				falls += strings.Count(d, "V")
			}
		}
		return falls
	}
	require.Equal(t, 2, count(low(0, 5*time.Millisecond, time.Microsecond)))
	require.Equal(t, 6, count(append(low(1, 5*time.Millisecond, time.Nanosecond),
		append(low(1, 5*time.Millisecond+2, 1), low(0, 6*time.Millisecond, 30*time.Microsecond)...)...)))
	require.Equal(t, 0, count(low(0, -time.Second, time.Microsecond)), "what was before the read is not drawn")
}
