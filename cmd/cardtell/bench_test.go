package main

import (
	"bytes"
	"io"
	"strings"
	"testing"
)

// BenchmarkIdentifyEach answers for 10,000 reads of one site, one line each; the figure is per read.
func BenchmarkIdentifyEach(b *testing.B) {
	const lines = 10_000
	var in strings.Builder
	for i := range lines {
		in.WriteString([]string{"26:2F20023\n", "26:2F20057\n", "26:2F201A9\n", "26:2F2027D\n", "26:2F20325\n"}[i%5])
	}
	b.ReportAllocs()
	for b.Loop() {
		var errw bytes.Buffer
		if code := run([]string{"identify", "--each", "--file", "-"}, strings.NewReader(in.String()), io.Discard, &errw); code != 0 {
			b.Fatal(code, errw.String())
		}
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/lines, "ns/read")
	b.ReportMetric(float64(b.N)*lines/b.Elapsed().Seconds(), "reads/s")
}
