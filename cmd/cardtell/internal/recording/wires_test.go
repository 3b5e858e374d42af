package recording_test

import (
	"bytes"
	"io"
	"os"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/recording"
	"github.com/cardtell/cardtell/wiegand"
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

// A recorder's channels D0 to D2, of which D0 and D1 are the wires: that is looked up by reading the recording to its
// end, behind which it is read from its beginning again and not from what was left. The 80 reads are our own, the form
// is that of IEEE 1364.
func TestNumberedChannelsToTheEnd(t *testing.T) {
	t.Parallel()
	g := line.NewGenerator(line.Profile{}, 1)
	bits, err := wiegand.ParseBits("26:3A83702")
	require.NoError(t, err)
	edges, at := g.AppendIdle(nil, 0), 100*time.Millisecond
	for range 80 {
		edges, at = g.AppendRead(edges, at, bits)
		at += 200 * time.Millisecond
	}
	var dump bytes.Buffer
	require.NoError(t, line.WriteVCD(&dump, [2]string{"D0", "D1"}, slices.Values(edges)))
	text := strings.Replace(dump.String(), "$upscope", "$var wire 1 ~ D2 $end $upscope", 1)
	file := strings.NewReader(text)
	form, in, err := recording.FormOf(file, "", false)
	require.NoError(t, err)
	w := recording.Wires{Form: form, Again: func() (io.Reader, error) {
		_, err := file.Seek(0, io.SeekStart)
		return file, err
	}}
	src, choice, err := w.Open(in)
	require.NoError(t, err)
	require.Equal(t, [2]string{"line.D0", "line.D1"}, choice.Names)
	r := line.NewReader(src, line.Config{}, line.PolarityAuto)
	reads := 0
	for {
		read, err := r.Next()
		if err != nil {
			require.ErrorIs(t, err, io.EOF)
			break
		}
		require.Equal(t, bits, read.Bits)
		reads++
	}
	require.Equal(t, 80, reads)
}

// Channels without a name carry clock and data where a whole message can be read so, in whichever order they are; two
// wires, which are never low together, stay two wires. The message is published with its check character in a manual of
// stripe readers, the read is our own.
func TestUnnamedChannelsByWhatTheyCarry(t *testing.T) {
	t.Parallel()
	message, err := line.Track2Bits(";0123?")
	require.NoError(t, err)
	for coding, bits := range []wiegand.Bits{line.ClockAndData: message, line.TwoWire: wiegand.MustParseBits("26:3A83702")} {
		for _, names := range [][2]string{{"CH1", "CH2"}, {"CH2", "CH1"}} {
			g := line.NewGenerator(line.Profile{Coding: line.Coding(coding)}, 1)
			edges, at := g.AppendIdle(nil, 0), 100*time.Millisecond
			edges, at = g.AppendRead(edges, at, bits)
			edges = append(edges, line.Edge{At: at + time.Second, Wire: line.NoWire})
			var dump bytes.Buffer
			require.NoError(t, line.WriteVCD(&dump, names, slices.Values(edges)))
			again := func() (io.Reader, error) { return bytes.NewReader(dump.Bytes()), nil }
			in, err := again()
			require.NoError(t, err)
			w := recording.Wires{Form: "vcd", Again: again}
			src, choice, err := w.Open(in)
			require.NoError(t, err)
			require.Equal(t, line.Coding(coding), choice.Coding)
			read, err := line.NewReader(src, line.Config{}, line.PolarityAuto).Next()
			require.NoError(t, err)
			if line.Coding(coding) == line.TwoWire {
				require.Contains(t, choice.Note, "is taken for DATA0")
				continue
			}
			require.Equal(t, bits, read.Bits)
			require.Equal(t, [2]string{"line." + names[0], "line." + names[1]}, choice.Names)
			require.Contains(t, choice.Note, "whole message of track 2")
		}
	}
}

// What is looked at may end within a sign of several bytes (UTF-8, RFC 3629): it is text all the same.
func TestFormOfTextCutWithinASign(t *testing.T) {
	t.Parallel()
	for pad := range 12 {
		text := "time_us;D0;D1\n" + strings.Repeat("1", pad) + strings.Repeat("1\u202f000;1;1\n", 1000)
		form, _, err := recording.FormOf(strings.NewReader(text), "", false)
		require.NoError(t, err)
		require.Equal(t, "csv", form)
	}
}

// What is looked at may end within a byte of bus traffic on one line (packets of IEC 60839-11-5, from memory).
func TestFormOfHexCutWithinAByte(t *testing.T) {
	t.Parallel()
	for _, between := range []string{"", " ", ":", ", ", ":0x"} {
		for pad := range 5 {
			text := strings.Repeat("\n", pad) + strings.Repeat("53"+between+"00"+between, 3000)
			form, _, err := recording.FormOf(strings.NewReader(strings.TrimRight(text, ", :0x")+"\n"), "", false)
			require.NoError(t, err)
			require.Equal(t, "hex", form, "%q", between)
		}
	}
}
