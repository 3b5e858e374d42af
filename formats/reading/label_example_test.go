package reading_test

import (
	"fmt"

	"github.com/cardtell/cardtell/formats/reading"
)

// Letters before all numbers of a list say nothing of its cards.
func ExampleLabelOf() {
	label := reading.LabelOf([]string{"N-00144", "N-00147", "lost", "N-00150", "N-00151"}, false, false)
	fmt.Println(label, reading.WithoutLabel("N-00144", label), reading.WithoutLabel("121,N-00144", label))
	// Output: N- 00144 121,00144
}
