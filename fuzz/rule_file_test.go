package fuzz

import (
	"bytes"
	"testing"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/relate"
)

// FuzzRuleFile reads any text as a rule file. A rule that was read is written and read back as the same, never panics
// on a number, and undoes itself where it says it can.
func FuzzRuleFile(f *testing.F) {
	head := "version = 1\nfrom = { form = \"decimal\" }\nto = { form = \"decimal\", digits = 10 }\n"
	f.Add([]byte(head), "0009876543")
	f.Add([]byte(head+"[[steps]]\ndo = \"swap-bytes\"\nbytes = 4\n[[steps]]\ndo = \"keep-high\"\nbits = 24\nof = 32\n"),
		"1")
	// the lowest constant
	f.Add([]byte(head+"[[steps]]\ndo = \"add\"\nnumber = -9223372036854775808\n"), "18446744073709551615")
	f.Add([]byte(head+"[[steps]]\ndo = \"set-facility\"\nbits = 1\nfacility = 4611686018427387903\n"), "1")
	f.Add([]byte(head+"[[steps]]\ndo = \"strip-parity\"\nformat = \"26-8-16\"\n"), "53307518")
	f.Add([]byte("version = 1\nfrom = { form = \"serial\", bits = 64 }\nto = { form = \"joined\", bits = 63, digits = 20 }\n"), "E004015076D28105")
	f.Add([]byte("version = 2"), "") // from a newer program
	f.Add([]byte("\xef\xbb\xbfversion = 1"), "")
	catalogue := formats.Builtin()
	f.Fuzz(func(t *testing.T, text []byte, input string) {
		rule, err := relate.ParseRule("rule.toml", text, catalogue)
		if err != nil {
			declared(t, err)
			return
		}
		written := rule.AppendFile(nil, "a comment\nof two lines")
		again, err := relate.ParseRule("again.toml", written, catalogue)
		if err != nil {
			t.Fatalf("%v in\n%s", err, written)
		}
		if second := again.AppendFile(nil, "a comment\nof two lines"); !bytes.Equal(written, second) {
			t.Fatalf("written back as\n%s\nnot\n%s", second, written)
		}
		got, err := rule.Apply(input)
		if err != nil {
			declared(t, err)
			return
		}
		back, err := rule.Reverse()
		if err != nil {
			declared(t, err)
			return
		}
		first, err := back.Apply(got)
		if err != nil {
			t.Fatalf("%q becomes %q, which does not go back: %v", input, got, err)
		}
		if third, err := rule.Apply(first); err != nil || third != got {
			t.Fatalf("%q there and back and there is %q, not %q: %v", input, third, got, err)
		}
	})
}
