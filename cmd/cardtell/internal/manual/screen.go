package manual

import (
	"bytes"
	"fmt"
	"io"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/say"
)

// seldom are options that are only named where there is no room: of commands on lists those that a site file makes
// needless, of capture those that most recordings make needless; and what few lists need.
var seldom = map[string]bool{
	"facility": true, "format": true, "from": true, "clock": true, "data": true, "invert": true, "rate": true,
	"unit": true, "name": true, "split": true,
}

// Screen writes what --help prints: the command's page where it fits a screen, and else what fits of it. Then an
// option has the first clause of what it does, and those that mean little without another, or are the same for all
// lists, are only named.
func Screen(w io.Writer, c *cobra.Command) {
	var page bytes.Buffer
	Page(&page, c)
	for _, named := range []map[string]bool{nil, seldom} {
		if bytes.Count(page.Bytes(), []byte("\n")) <= say.Lines {
			break
		}
		page.Reset()
		printShort(&page, c, named)
	}
	w.Write(page.Bytes()) //nolint:errcheck // as with all help
}

func printShort(w io.Writer, c *cobra.Command, seldom map[string]bool) {
	intro, _, _ := strings.Cut(c.Long, "\n\n")
	fmt.Fprintf(w, "%s\n\nUsage: %s\n\n", intro, Usage(c))
	if c.HasAvailableSubCommands() {
		printCommands(w, c, func(sub *cobra.Command) bool { return sub.Name() != "help" && sub.Name() != "completion" })
	}
	own, named := shortOptions(c, seldom)
	printFlags(w, own, firstClause)
	say.Print(w, "  others  ", strings.Join(named, " ")+" ("+strings.Replace(c.CommandPath(), "cardtell",
		"cardtell help", 1)+")")
	fmt.Fprintf(w, "\nExamples\n%s\n", c.Example)
}

// shortOptions returns the options that a page in short describes, and those that it only names.
func shortOptions(c *cobra.Command, seldom map[string]bool) (own []*pflag.Flag, named []string) {
	ofList := c.Flags().Lookup("delimiter") != nil
	c.NonInheritedFlags().VisitAll(func(f *pflag.Flag) {
		switch {
		case f.Name == "help":
		case !c.HasParent(), ofList && listOptions[f.Name], seldom[f.Name], strings.HasPrefix(f.Usage, "with --"):
			named = append(named, "--"+f.Name)
		default:
			own = append(own, f)
		}
	})
	c.InheritedFlags().VisitAll(func(f *pflag.Flag) { named = append(named, "--"+f.Name) })
	return own, named
}

// firstClause cuts what an option does at the first sign that what follows is less important.
func firstClause(usage string) string {
	end := len(usage)
	for _, sign := range []string{": ", "; ", " ("} {
		if i := strings.Index(usage, sign); i >= 0 {
			end = min(end, i)
		}
	}
	return usage[:end]
}
