package line

import (
	"encoding/json"
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// state is one value of each enum, as a program may keep it.
type state struct {
	Level   Level
	Coding  Coding
	Verdict Verdict
}

// Enums go through JSON by name and come back; what is none of them prints as such, and is neither written nor read.
func TestEnumsSurviveJSON(t *testing.T) {
	t.Parallel()
	for i := range 4 {
		want := state{Level(i), Coding(i % 2), Verdict(i % 3)}
		text, err := json.Marshal(want)
		require.NoError(t, err)
		assert.Contains(t, string(text), `"`+want.Level.String()+`"`)
		var back state
		require.NoError(t, json.Unmarshal(text, &back))
		assert.Equal(t, want, back)
	}
	for _, v := range []any{Level(9), Coding(9), Verdict(9), Fault(99)} {
		assert.Regexp(t, `^[A-Z][a-z]+\(9+\)$`, fmt.Sprint(v))
	}
	for _, v := range []any{Level(9), Coding(9), Verdict(9)} {
		_, err := json.Marshal(v)
		assert.ErrorIs(t, err, ErrSyntax)
	}
	var back state
	for _, text := range []string{`{"Level":"middle"}`, `{"Coding":"binary"}`, `{"Verdict":""}`} {
		assert.ErrorIs(t, json.Unmarshal([]byte(text), &back), ErrSyntax, text)
	}
}
