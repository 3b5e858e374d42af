package main

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"
)

// effect says beside which other option some have an effect, or beside which they have none.
type effect struct {
	options string // with spaces between
	needs   string // one of these has to be there; "" where none has to
	not     string // none of these may be there
}

// effects are of the options of each command that do nothing by themselves, or nothing beside another one. An option
// that was given and did nothing would leave its user to believe that it did.
var effects = map[string][]effect{
	"identify": {{options: "top", not: "each"}, {options: "verbose", not: "each"}},
	"convert":  {{options: "to", not: "door"}},
	"batch": {
		{options: "any from-door", needs: "site"},
		{options: "site facility any from-door", not: "rule"},
		{options: "from-door", not: "from"},
	},
	"check":  {{options: "output", needs: "next"}},
	"learn":  {{options: "id", needs: "output"}},
	"relate": {{options: "rule", needs: "output"}},
	"site": {{
		options: "column delimiter encoding format header-row no-header printed quote ragged sheet", needs: "from",
	}},
	"capture": {
		{options: "jitter lose output repeat spikes", needs: "make"},
		{options: "as clock d0 d1 data draw gap glitch identify list rate read same show-pins unit", not: "make"},
		{options: "list", not: "same"},
		{options: "read", needs: "draw"},
		{options: "d0 d1", not: "clock data"},
	},
}

// siteless are the commands that take --site as all do, and have no use for it.
var siteless = map[string]bool{"learn": true, "relate": true, "site": true, "formats": true}

// checkEffects refuses options that have no effect. A site file that is not used is only said: scripts may give it
// everywhere.
func (a *app) checkEffects(c *cobra.Command, _ []string) error {
	given := func(name string) bool { f := c.Flags().Lookup(name); return f != nil && f.Changed }
	any := func(names string) string {
		for name := range strings.FieldsSeq(names) {
			if given(name) {
				return name
			}
		}
		return ""
	}
	name := strings.TrimPrefix(c.CommandPath(), c.Root().Name()+" ")
	for _, e := range effects[c.Name()] {
		option, other := any(e.options), any(e.not)
		switch {
		case option == "":
		case e.needs != "" && any(e.needs) == "":
			return fmt.Errorf("%s: --%s: has no effect without --%s; add that, or leave this out", name, option, e.needs)
		case other != "" && !(c.Name() == "identify" && a.json): // each object of JSON has its candidates
			return fmt.Errorf("%s: --%s: has no effect beside --%s; leave one of them out", name, option, other)
		}
	}
	if a.site != "" && !c.Flags().Changed("shows") && (siteless[c.Name()] || c.HasParent() &&
		siteless[c.Parent().Name()]) {
		a.remark("%s: --site: has no effect here", name)
	}
	return nil
}
