package reading

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"

	"github.com/cardtell/cardtell/formats"
)

// The same slip in one row of six, by whoever types all of them: what comes of it lies together as another order of
// cards would, and would be those of the others without the slip. Nothing is taken for a card that may be such.
func TestLikeSlips(t *testing.T) {
	tests := []struct {
		name string
		slip func(n int) string
		text string
	}{
		{"the first digit twice", func(n int) string { return fmt.Sprint(n)[:1] + fmt.Sprint(n) }, "5561"},
		{"the last digit twice", func(n int) string { return fmt.Sprint(n) + fmt.Sprint(n%10) }, "5611"},
		{"without the last digit", func(n int) string { return fmt.Sprint(n / 10) }, "56"},
	}
	for _, tt := range tests {
		var texts []string
		for i := range 60 {
			if n := 500 + i*37%200; i%6 == 5 {
				texts = append(texts, tt.slip(n))
			} else {
				texts = append(texts, fmt.Sprint(n))
			}
		}
		p := settledOn(t, []formats.Population{kind("26-8-16", "number", 121)}, texts, Options{})
		assert.Equal(t, []string{"26-8-16 121,00561", "damaged"}, outcomes(p, "561", tt.text), tt.name)
	}
}

// Another order of cards is one: its numbers are not those of the others without a slip.
func TestNoLikeSlips(t *testing.T) {
	var texts []string
	for i := range 60 {
		n := 500 + i*37%200
		if i%6 == 5 {
			n += 5130
		}
		texts = append(texts, fmt.Sprint(n))
	}
	p := settledOn(t, []formats.Population{kind("26-8-16", "number", 121)}, texts, Options{})
	assert.Equal(t, []string{"26-8-16 121,00561", "26-8-16 121,05700"}, outcomes(p, "561", "5700"))
}
