package main

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The tables name commands and options that there are.
func TestEffectsAreOfOptions(t *testing.T) {
	root := (&app{}).root()
	for name, all := range effects {
		c, _, err := root.Find([]string{name})
		require.NoError(t, err, name)
		for _, e := range all {
			for option := range strings.FieldsSeq(e.options + " " + e.needs + " " + e.not) {
				assert.True(t, c.Flags().Lookup(option) != nil || root.PersistentFlags().Lookup(option) != nil, "%s --%s", name,
					option)
			}
		}
	}
	for name := range siteless {
		_, _, err := root.Find([]string{name})
		assert.NoError(t, err, name)
	}
}
