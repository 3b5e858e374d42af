package fuzz

import (
	"errors"
	"io"
	"strings"
	"testing"

	"github.com/cardtell/cardtell/wiegand/osdp"
)

// FuzzLogs takes bytes out of any text: no line gives more bytes than half of its signs, and only a line that is too
// long is an error.
func FuzzLogs(f *testing.F) {
	for _, s := range []string{
		"[12:00:01.250] TX: 53 00 08 00 04 60 EB AA", "0040: 5380 0800 |S...|", "{0x53, 0x80}", `\x53\x80`, "53h 80h",
		"53:80 -",
	} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		src, n := osdp.NewLog(strings.NewReader(text)), 0
		for {
			p, err := src.Next()
			if errors.Is(err, io.EOF) || errors.Is(err, osdp.ErrSyntax) {
				break
			}
			if err != nil || len(p.Bytes) == 0 {
				t.Fatal(p, err)
			}
			n += len(p.Bytes)
		}
		if 2*n > len(text) {
			t.Fatalf("%d bytes out of %d signs", n, len(text))
		}
	})
}
