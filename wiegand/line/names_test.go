package line

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
)

// What is no value of an enum prints as such.
func TestEnumsPrint(t *testing.T) {
	t.Parallel()
	assert.Equal(t, "high clock-and-data suspect", fmt.Sprint(High, " ", ClockAndData, " ", Suspect))
	for _, v := range []any{Level(9), Coding(9), Verdict(9), Fault(99)} {
		assert.Regexp(t, `^[A-Z][a-z]+\(9+\)$`, fmt.Sprint(v))
	}
}
