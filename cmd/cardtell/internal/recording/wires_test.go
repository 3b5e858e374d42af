package recording_test

import (
	"io"
	"os"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/recording"
	"github.com/cardtell/cardtell/wiegand/line"
)

// parts gives one part after the other, and before each says that nothing has come in time.
type parts struct {
	left   []string
	silent bool
}

func (p *parts) Read(b []byte) (int, error) {
	if len(p.left) == 0 {
		return 0, io.EOF
	}
	if p.silent = !p.silent; p.silent {
		return 0, os.ErrDeadlineExceeded
	}
	n := copy(b, p.left[0])
	p.left = p.left[1:]
	return n, nil
}

// A live recording may be silent behind its head, until the first card comes: the head is not forgotten.
func TestSilentBehindTheHead(t *testing.T) {
	t.Parallel()
	for form, live := range map[string][]string{
		"csv": {"time_us,wire,level\n", "1000,D0,0\n", "1050,D0,1\n"},
		"vcd": {"$timescale 1us $end\n$var wire 1 ! D0 $end\n", "$var wire 1 \" D1 $end\n$enddefinitions $end\n", "#0 1! 1\"\n"},
	} {
		w := recording.Wires{Form: form}
		src, choice, err := w.Open(&parts{left: live})
		require.NoError(t, err, form)
		require.Equal(t, line.TwoWire, choice.Coding)
		_, err = src.Next()
		if form == "csv" {
			require.NoError(t, err)
		} else {
			require.ErrorIs(t, err, os.ErrDeadlineExceeded, "behind the head a silence is told again")
		}
	}
}
