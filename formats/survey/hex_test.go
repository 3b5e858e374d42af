package survey

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
)

// Numbers without a letter that are longer than all in hex are none in hex: a form has as many digits of every card.
func TestLongerNumbersAreNotInHex(t *testing.T) {
	var hex []string
	for i := range 50 {
		hex = append(hex, fmt.Sprintf("D3B32%03X", 0xA80+7*i))
	}
	all, others := inHexToo(hex, []string{"731182226", "73118222", "729438571"})
	assert.Equal(t, append(hex, "73118222"), all)
	assert.Equal(t, []string{"731182226", "729438571"}, others)
}
