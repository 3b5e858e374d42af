package reading

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"github.com/cardtell/cardtell/formats"
)

// The form is taken from a list only where its numbers can be cards of the site in one way. 87*65536+2637 = 5704269,
// by hand; 2637 as all 24 bits is number 2637 of facility 0, which is no card where the facility is known.
func TestShownForm(t *testing.T) {
	tests := []struct {
		name       string
		facilities []uint64
		samples    []string
		want       string
	}{
		{"numbers of a known facility", []uint64{87}, []string{"2637", "2638", "x"}, "number"},
		{"numbers of any facility", nil, []string{"2637", "2638"}, ""},
		{"numbers of a facility that may be 0", []uint64{0, 87}, []string{"2637"}, ""},
		{"pairs of any facility", nil, []string{"087,02637", "087,02638"}, "pair"},
		{"ten digits", []uint64{87}, []string{"0005704269", "0005704270"}, "decimal10"},
		{"mostly words", []uint64{87}, []string{"2637", "x", "y"}, ""},
		{"another facility", []uint64{88}, []string{"087,02637"}, ""},
	}
	for _, tt := range tests {
		p := formats.Population{Format: "26-8-16", Facilities: tt.facilities}
		assert.Equal(t, tt.want, ShownForm(formats.Builtin(), &p, tt.samples), tt.name)
	}
}
