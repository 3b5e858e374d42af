package main

import (
	"path/filepath"
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

// An option without an effect is refused, before anything is read or written.
func TestOptionsWithoutEffect(t *testing.T) {
	list := write(t, "list.csv", "Card\n43\n")
	site := write(t, "site.toml", siteText)
	rule := write(t, "rule.toml", "version = 1\nfrom = { form = \"decimal\" }\nto = { form = \"hex\" }\n")
	vcd := "../../testdata/demo/back-door.vcd"
	for line, says := range map[string]string{
		"identify --each --top 2 26:2F20023":                                    "identify: --top: has no effect beside --each",
		"convert 43 --site " + site + " --door North --to hex":                  "convert: --to: has no effect beside --door",
		"learn ../../testdata/demo/barrier.txt --id ours":                       "learn: --id: has no effect without --output",
		"relate 1=2 --rule 1":                                                   "relate: --rule: has no effect without --output",
		"site --column A":                                                       "site: --column: has no effect without --from",
		"check " + list + " --from number --format 26-0-24 --next 0":            "check: --next 0: nothing is wanted",
		"batch " + list + " --from number --format 26-0-24 --to hex -o - --any": "batch: --any: has no effect without --site",
		"batch " + list + " --rule " + rule + " --facility 5 -o -":              "batch: --facility: has no effect beside --rule",
		"batch " + list + " --rule " + rule + " --site " + site + " -o -":       "batch: --site: has no effect beside --rule",
		"capture " + vcd + " --spikes":                                          "capture: --spikes: has no effect without --make",
		"capture " + vcd + " -o x.vcd":                                          "capture: --output: has no effect without --make",
		"capture " + vcd + " --read 2":                                          "capture: --read: has no effect without --draw",
		"capture " + vcd + " --d0 a --clock b":                                  "capture: --d0: has no effect beside --clock",
		"capture " + vcd + " --unit ms":                                         "--unit: has no effect on a recording in the form vcd",
		"capture " + vcd + " --draw x.png":                                      `--draw "x.png": the name does not end in .svg`,
		"capture --make 26:2F20023 -o - --gap 5ms":                              "capture: --gap: has no effect beside --make",
		"capture --make 26:2F20023 -o x.csv":                                    `-o "x.csv": the name does not end in .vcd`,
	} {
		r := do(line, "")
		assert.Equal(t, exitUsage, r.code, line)
		assert.Empty(t, r.out, line)
		assert.Contains(t, r.err, says, line)
	}
	assert.Equal(t, exitDone, do("identify --each --json --top 1 26:2F20023", "").code)
	r := do("relate 121,43=7929899 --site "+filepath.Join(t.TempDir(), "none"), "")
	assert.Equal(t, exitDone, r.code, "scripts may give a site file everywhere")
	assert.Equal(t, "relate: --site: has no effect here\n", r.err)
}
