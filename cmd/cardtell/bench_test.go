package main

import (
	"bytes"
	"io"
	"strconv"
	"strings"
	"testing"

	"github.com/cardtell/cardtell/formats"
)

// BenchmarkIdentifyEach answers for 100,000 reads, one line each: of a log, which has 500 cards of one site over and
// over, and of cards that are all different.
func BenchmarkIdentifyEach(b *testing.B) {
	const lines = 100_000
	f := formats.Builtin().Find("26-8-16")[0]
	for _, k := range []struct {
		name  string
		cards int
		more  []string
	}{{"log", 500, nil}, {"log as JSON", 500, []string{"--json"}}, {"different", 65535, nil}, {"different as JSON", 65535,
		[]string{"--json"}}} {
		var in strings.Builder
		for i := range lines {
			fields := map[string]string{"facility": strconv.Itoa(121 + i/k.cards%2*(k.cards/65535)),
				"number": strconv.Itoa(1 + i%k.cards)}
			read, err := f.Encode(fields)
			if err != nil {
				b.Fatal(err)
			}
			in.WriteString(read.Hex() + "\n")
		}
		b.Run(k.name, func(b *testing.B) {
			b.ReportAllocs()
			before := cpuTime()
			for b.Loop() {
				var errw bytes.Buffer
				args := append([]string{"identify", "--each", "--file", "-"}, k.more...)
				if code := run(args, strings.NewReader(in.String()), io.Discard, &errw); code > exitNo { // some fit no format
					b.Fatal(code, errw.String())
				}
			}
			b.ReportMetric(float64((cpuTime()-before).Nanoseconds())/float64(b.N)/lines, "cpu-ns/read")
			b.ReportMetric(float64(b.N)*lines/b.Elapsed().Seconds(), "reads/s")
		})
	}
}

// BenchmarkServe answers 100,000 requests in a row, a quarter of each kind; the figures are for one request, and for
// one of each kind alone.
func BenchmarkServe(b *testing.B) {
	const lines = 100_000
	kinds := []struct{ name, line string }{
		{"identify", `{"id":7,"do":"identify","cards":["26:32D687E=46143"],"top":1}` + "\n"},
		{"convert", `{"id":7,"do":"convert","values":["150,46143"],"from":"pair","to":"decimal","format":"26-8-16"}` + "\n"},
		{"decode", `{"id":7,"do":"decode","format":"26-8-16","read":"26:32D687E"}` + "\n"},
		{"encode", `{"id":7,"do":"encode","format":"26-8-16","fields":{"facility":"150","number":"46143"}}` + "\n"},
	}
	all := ""
	for _, k := range kinds {
		all += k.line
	}
	kinds = append(kinds, struct{ name, line string }{"mixed", all})
	for _, k := range kinds {
		in := strings.Repeat(k.line, lines/strings.Count(k.line, "\n"))
		b.Run(k.name, func(b *testing.B) {
			b.ReportAllocs()
			before := cpuTime()
			for b.Loop() {
				var errw bytes.Buffer
				if code := run([]string{"serve", "--stdio"}, strings.NewReader(in), io.Discard, &errw); code != 0 {
					b.Fatal(code, errw.String())
				}
			}
			n := float64(b.N) * lines
			b.ReportMetric(float64((cpuTime()-before).Nanoseconds())/n, "cpu-ns/request")
			b.ReportMetric(n/b.Elapsed().Seconds(), "requests/s")
		})
	}
}
