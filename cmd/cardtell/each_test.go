package main

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
)

// A card that comes again is answered as the first time, whichever worker has it, and as it is when it is alone; the
// exit code says that some card fits nothing wherever it stands.
func TestEachAnswersAgainAsBefore(t *testing.T) {
	t.Parallel()
	cards := []string{"26:2F20023", "26:2F20057=00043", "rubbish", "121,00043", "27:5E40046", "200:0", "04:A2:3B:5C"}
	for _, flags := range []string{"", " --json", " --top 1 --json"} {
		var in, want strings.Builder
		for i := range 3000 {
			in.WriteString(cards[i%len(cards)] + "\n")
		}
		alone := map[string]result{}
		for _, c := range cards {
			alone[c] = do("identify --each --file -"+flags, c+"\n")
		}
		for i := range 3000 {
			out := alone[cards[i%len(cards)]].out
			if flags != "" {
				out = strings.Replace(out, `{"line":1,`, fmt.Sprintf(`{"line":%d,`, i+1), 1)
				out = strings.ReplaceAll(out, "-:1:", fmt.Sprintf("-:%d:", i+1))
			} else if out != "" {
				out = fmt.Sprintf("%7d", i+1) + out[7:]
			}
			want.WriteString(out)
		}
		got := do("identify --each --file -"+flags, in.String())
		assert.Equal(t, want.String(), got.out, flags)
		assert.Equal(t, exitUsage, got.code)
	}
	one, two := do("identify --each 200:0", "").code, do("identify --each 26:2F20023 200:0 26:2F20023 200:0", "").code
	assert.Equal(t, one, two)
}
