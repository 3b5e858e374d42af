package answer

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// Sentences about the cards of one kind have the numbers of the question.
func TestNumbered(t *testing.T) {
	k := Kind{Given: []int{2, 4, 9}}
	assert.Equal(t, []string{"card 4: x, as card 2; 5 cards; cards 2, 4, 9 and 3 more"},
		k.Numbered([]string{"card 2: x, as card 1; 5 cards; cards 1, 2, 3 and 3 more"}))
	assert.Equal(t, []string{"card 2"}, (&Kind{}).Numbered([]string{"card 2"}))
}
