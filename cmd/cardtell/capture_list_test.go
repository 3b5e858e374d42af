package main

import (
	"encoding/json"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/reads"
)

// recorded writes a recording of reads, one every half second, as VCD: pulses of 50 µs, 2 ms apart. A "-" in a read is
// a pulse that is lost. It shares no code with the program.
func recorded(reads ...string) string {
	var b strings.Builder
	b.WriteString("$timescale 1us $end $var wire 1 ! D0 $end $var wire 1 \" D1 $end $enddefinitions $end\n#0 1! 1\"\n")
	for i, read := range reads {
		for k, bit := range read {
			at := 500000*(i+1) + 2000*k
			if wire, ok := map[rune]string{'0': "!", '1': `"`}[bit]; ok {
				fmt.Fprintf(&b, "#%d 0%s #%d 1%s\n", at, wire, at+50, wire)
			}
		}
	}
	fmt.Fprintf(&b, "#%d\n", 500000*(len(reads)+1))
	return b.String()
}

// Reads of the 26-bit format by SIA AC-01-1996.10, even parity before and odd behind: facility 121, numbers 17, 43 and
// 1050 of Harbour Row Workshops.
const (
	staff17   = "10111100100000000000100011"
	staff43   = "10111100100000000001010111"
	staff1050 = "10111100100000100000110101"
)

const harbourRow = "../../testdata/demo/site.toml"

// lines returns the lines of a file.
func linesOf(t *testing.T, name string) []string {
	t.Helper()
	b, err := os.ReadFile(name)
	require.NoError(t, err)
	return strings.Split(strings.TrimSpace(strings.ReplaceAll(string(b), "\r\n", "\n")), "\n")
}

// Live: each card has its row while the others are still to come; the file is there, whole, when the line ends.
func TestCaptureListLive(t *testing.T) {
	t.Parallel()
	out := filepath.Join(t.TempDir(), "cards.csv")
	in, feed := io.Pipe()
	printed, writer := io.Pipe()
	done := make(chan int, 1)
	go func() {
		done <- run([]string{"capture", "-", "--list", out, "--site", harbourRow, "--json", "--quiet"}, in, writer,
			io.Discard)
		_ = writer.Close()
	}()
	rows := make(chan reads.Entry)
	go func() {
		for d := json.NewDecoder(printed); ; {
			var e reads.Entry
			if d.Decode(&e) != nil {
				return
			}
			rows <- e
		}
	}()
	whole := recorded(staff17, staff43, staff43, staff1050)
	from := 0
	for i, want := range []int{1, 2, 2, 3} {
		to := len(whole)
		if next := strings.Index(whole, fmt.Sprintf("#%d 0", 500000*(i+2))); next > 0 {
			to = next
		}
		_, err := io.WriteString(feed, whole[from:to])
		require.NoError(t, err)
		from = to
		select {
		case e := <-rows:
			require.Equal(t, want, e.Row)
			require.Equal(t, i == 2, e.Double)
		case <-time.After(20 * time.Second):
			t.Fatal("no row while the line is open")
		}
		require.NoFileExists(t, out)
	}
	require.NoError(t, feed.Close())
	require.Zero(t, <-done)
	require.Len(t, linesOf(t, out), 4)
	require.Len(t, linesOf(t, out+".rejects.csv"), 2)
}
