package evidence

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/internal/typing"
)

// TestNever: what is not even tried could not have been read, nor what it can be a slip of; the forms themselves tell.
func TestNever(t *testing.T) {
	const seed1, seed2, texts = 20261201, 3, 60
	rng := rand.New(rand.NewPCG(seed1, seed2))
	t.Logf("seed %d, %d", seed1, seed2)
	m, err := New(formats.Builtin(), nil)
	require.NoError(t, err)
	spared := 0
	for range texts {
		kind, digits := formats.Printed, "0123456789"
		if rng.IntN(4) == 0 {
			kind, digits = formats.Hex, "0123456789ABCDEF"
		}
		text := make([]byte, 1+rng.IntN(14))
		for i := range text {
			if text[i] = digits[rng.IntN(len(digits))]; rng.IntN(3) == 0 {
				text[i] = '0'
			}
		}
		if at := rng.IntN(2 * len(text)); kind == formats.Printed && at > 0 && at < len(text)-1 {
			text[at] = ",-/ "[rng.IntN(4)]
		}
		seen := typing.NewSeen(formats.Sighting{Kind: kind, Text: string(text)})
		for i := range m.formats {
			f := &m.formats[i]
			for o := range f.forms {
				opt := &f.forms[o]
				if !opt.of(kind) || opt.part != nil {
					continue
				}
				if opt.never(&seen, seen.Significant(0)) {
					_, err := opt.form.Parse(f.format, seen.Text)
					assert.Error(t, err, "%s as %s of %s", text, opt.name(), f.format.ID)
				}
				if !opt.never(&seen, seen.Significant(1)) {
					continue
				}
				spared++
				for _, mistake := range typing.Mistakes() {
					for meant := range mistake.Undo(seen.Text) {
						_, err := opt.form.Parse(f.format, string(meant))
						assert.Error(t, err, "%s for %s as %s of %s", text, meant, opt.name(), f.format.ID)
					}
				}
			}
		}
	}
	assert.Greater(t, spared, 1000)
}
