package fuzz

import (
	"bytes"
	"errors"
	"io"
	"os"
	"strings"
	"testing"
	"testing/iotest"

	"github.com/cardtell/cardtell/wiegand/line"
)

// recording is a source of edges whose signals have names.
type recording interface {
	line.Source
	Choose(line.Signals) (line.Choice, error)
	Names() []string
}

// readRecording reads all of a recording. Where its names do not tell, the first two signals are taken.
func readRecording(src recording, err error) (reads []line.Read, _ error) {
	if err != nil {
		return nil, err
	}
	if _, err := src.Choose(line.Signals{}); err != nil {
		names := src.Names()
		if len(names) < 2 {
			return nil, err
		}
		if _, err := src.Choose(line.Signals{Data0: names[0], Data1: names[1]}); err != nil {
			return nil, err
		}
	}
	r := line.NewReader(src, line.Config{}, line.PolarityAuto)
	for {
		read, err := r.Next()
		if errors.Is(err, io.EOF) {
			return reads, nil
		}
		if err != nil {
			return reads, err
		}
		reads = append(reads, read)
	}
}

// sameReads checks what must hold of any recording: errors are of the declared type and on one line, and how the bytes
// come in does not matter.
func sameReads(t *testing.T, open func(io.Reader) ([]line.Read, error), b []byte) {
	reads, err := open(bytes.NewReader(b))
	var e *line.Error
	if err != nil && (!errors.As(err, &e) || bytes.ContainsRune([]byte(err.Error()), '\n') || len(err.Error()) > 1000) {
		t.Fatalf("error %T %q", err, err)
	}
	again, err2 := open(iotest.OneByteReader(bytes.NewReader(b)))
	if len(again) != len(reads) || (err == nil) != (err2 == nil) || err != nil && err.Error() != err2.Error() {
		t.Fatalf("%d reads, %v; byte by byte %d, %v", len(reads), err, len(again), err2)
	}
	for i := range reads {
		if reads[i] != again[i] {
			t.Fatalf("read %d is %+v, byte by byte %+v", i, reads[i], again[i])
		}
	}
}

// FuzzVCD reads any bytes as a value change dump.
func FuzzVCD(f *testing.F) {
	for _, name := range []string{"reader.vcd", "burst.vcd"} { // by a simulator, and by hand
		b, err := os.ReadFile("../testdata/line/" + name)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(b)
	}
	head := "$timescale 2us $end $var TYPE ! D0 $end $var TYPE % D1 $end $enddefinitions $end\n#0 "
	f.Add([]byte(strings.ReplaceAll(head, "TYPE", "real 64") + "r5.01 ! r4.99 % #90000 r0.02 ! #90025 r5 ! #180000"))
	f.Add([]byte(strings.ReplaceAll(head, "TYPE", "port [0:0]") + "pU 0 6 ! pH 0 6 % #90000 pD 6 0 ! #90025 pU 0 6 ! #180000"))
	head = "$timescale 1us $end $var wire 1 ! D0 $end $var wire 1 \" D1 $end $enddefinitions $end\n"
	f.Add([]byte(head + "#0 1! 1\" #60000 0! #60050 1! #120000"))         // one bit
	f.Add([]byte(head + "#0 $dumpoff x! x\" $end $dumpon bz ! r1 \" b0")) // what may go wrong
	f.Add([]byte("$timescale 1 fs $end $var wire 3 $ b [2:0] $end $enddefinitions $end #1 b1 $ #99 bx0 $"))
	f.Fuzz(func(t *testing.T, b []byte) {
		if v, err := line.NewVCD(bytes.NewReader(b)); err == nil {
			v.Pairs() //nolint:errcheck // it must come to an end
		}
		sameReads(t, func(r io.Reader) ([]line.Read, error) {
			v, err := line.NewVCD(r)
			return readRecording(v, err)
		}, b)
	})
}
