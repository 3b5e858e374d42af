package formats_test

import (
	"fmt"

	"github.com/cardtell/cardtell/formats"
)

// Blocks of numbers as people write them.
func ExampleParseRanges() {
	blocks, err := formats.ParseRanges("1001-1100, 1 - 500")
	fmt.Println(formats.FormatRanges(blocks), err)
	p := formats.Population{Format: "26-8-16", Numbers: blocks}
	fmt.Println(p.HasNumber(500), p.HasNumber(501))
	// Output:
	// 1-500, 1001-1100 <nil>
	// true false
}
