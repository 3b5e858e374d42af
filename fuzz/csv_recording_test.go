package fuzz

import (
	"bytes"
	"io"
	"testing"

	"github.com/cardtell/cardtell/wiegand/line"
)

// FuzzCSVRecording reads any bytes as a recording in columns.
func FuzzCSVRecording(f *testing.F) {
	f.Add([]byte("Time [us],D0,D1\n0,1,1\n60000,0,1\n60050,1,1\n120000,1,1\n"), "") // levels
	f.Add([]byte("time_s;D0;D1\n0;1;1\n0,06;0;1\n0,06005;1;1\n"), "")               // decimal comma
	f.Add([]byte("60000,D0,fall\n60050,D0,rise\n62000,D1,0\n"), "us")               // events
	f.Add([]byte("t event\n1e3 D0\n2E3 D1\n-9e9 D0\n"), "ms")                       // pulses, time backwards
	f.Add([]byte("sep=|\n\"time ns\"|\"D0\"|\"D1\n1|x|?\n2|high|LOW\n"), "")        // quotes and words
	f.Add([]byte("\xef\xbb\xbf# remark\n\nTime,CLK,DATA\n0,1,0\n1,0,\n"), "ns")     // a missing level
	f.Add([]byte("Sample rate: 1 MHz\nn,A (V),B (mV)\n0,5.0,3300\n1,0.1 V,20\n"), "")
	f.Fuzz(func(t *testing.T, b []byte, unit string) {
		sameReads(t, func(r io.Reader) ([]line.Read, error) {
			c, err := line.NewCSV(r, line.CSVOptions{Unit: unit})
			return readRecording(c, err)
		}, b)
		for _, rate := range []float64{0, 1e6} {
			if c, err := line.NewCSV(bytes.NewReader(b), line.CSVOptions{Unit: unit, Rate: rate}); err == nil {
				c.Pairs() //nolint:errcheck // it must come to an end
			}
		}
	})
}
