package main

import (
	"io"
	"os"
	"testing"
)

func TestProf(t *testing.T) {
	if os.Getenv("PROF") == "" {
		t.Skip()
	}
	for range 5 {
		run([]string{"batch", "/tmp/lt/m.csv", "-c", "Card", "--format", "26-8-16", "--from", "decimal", "--to", "pair", "-o", "/tmp/lt/o.csv"}, nil, io.Discard, os.Stderr)
	}
}
