package picture

import (
	"bytes"
	"encoding/xml"
	"errors"
	"io"
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
	for _, bits := range []string{"1", "10", strings.Repeat("01", 16), strings.Repeat("0011", 8) + "1", strings.Repeat("10010", 40)} {
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
