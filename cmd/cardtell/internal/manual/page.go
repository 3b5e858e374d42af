// Package manual has what a command line says of itself: one page a command, in the same order: what it is for, how it
// is called, its options, two examples that run as they stand from the top folder of the project. It goes to standard
// output, 80 columns wide. The command help prints the page, --help as much of it as a screen holds.
package manual

import (
	"cmp"
	"fmt"
	"io"
	"slices"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/say"
)

// Walk calls use for every command of a tree.
func Walk(c *cobra.Command, use func(*cobra.Command)) {
	use(c)
	for _, sub := range c.Commands() {
		Walk(sub, use)
	}
}

// IsTopic reports whether a command is a page of help only.
func IsTopic(c *cobra.Command) bool { return !c.Runnable() && !c.HasSubCommands() }

// Page writes a command's page.
func Page(w io.Writer, c *cobra.Command) {
	fmt.Fprintln(w, cmp.Or(c.Long, c.Short+"."))
	if IsTopic(c) {
		return
	}
	fmt.Fprintf(w, "\nUsage: %s\n", Usage(c))
	if c.HasAvailableSubCommands() {
		fmt.Fprintln(w)
		printCommands(w, c, func(*cobra.Command) bool { return true })
	}
	printOptions(w, c)
	if c.Example != "" {
		fmt.Fprintf(w, "\nExamples\n%s\n", c.Example)
	}
}

// printCommands lists the commands of a command that are shown, and the topics.
func printCommands(w io.Writer, c *cobra.Command, shown func(*cobra.Command) bool) {
	var topics []string
	for _, sub := range c.Commands() {
		switch {
		case IsTopic(sub):
			topics = append(topics, sub.Name())
		case (sub.IsAvailableCommand() || sub.Name() == "help") && shown(sub):
			fmt.Fprintf(w, "  %-11s %s\n", sub.Name(), sub.Short)
		}
	}
	if topics != nil {
		fmt.Fprintf(w, "\nTopics (help TOPIC): %s\n", strings.Join(topics, ", "))
	}
}

// Usage is how a command is called.
func Usage(c *cobra.Command) string {
	if !c.HasParent() {
		return c.Name() + " COMMAND [options], or " + c.Name() + " CARD…"
	}
	return c.Parent().CommandPath() + " " + c.Use + " [options]"
}

// listOptions are the options of every command that reads a list. They are seldom needed, so that a topic of their own
// describes them and pages only name them.
var listOptions = map[string]bool{
	"as-is": true, "delimiter": true, "encoding": true, "header-row": true, "no-header": true, "out-delimiter": true,
	"out-encoding": true,
	"quote":        true, "ragged": true, "redact": true, "sheet": true,
}

// printOptions writes a command's own options, and where to read about those that several commands take.
func printOptions(w io.Writer, c *cobra.Command) {
	var own []*pflag.Flag
	var ofLists, shared []string
	c.NonInheritedFlags().VisitAll(func(f *pflag.Flag) {
		switch {
		case f.Name == "help":
		case listOptions[f.Name] && c.Flags().Lookup("delimiter") != nil:
			ofLists = append(ofLists, "--"+f.Name)
		default:
			own = append(own, f)
		}
	})
	c.InheritedFlags().VisitAll(func(f *pflag.Flag) { shared = append(shared, "--"+f.Name) })
	if len(own)+len(shared) > 0 {
		fmt.Fprintln(w)
	}
	printFlags(w, own, func(usage string) string { return usage })
	if ofLists != nil {
		say.Print(w, "  of lists  ", strings.Join(ofLists, " ")+" (cardtell help lists)")
	}
	if shared != nil {
		say.Print(w, "  of all    ", strings.Join(shared, " ")+" (cardtell help)")
	}
}

// printFlags writes options one below the other, as much as part takes of what they mean beside them.
func printFlags(w io.Writer, flags []*pflag.Flag, part func(string) string) {
	short := slices.ContainsFunc(flags, func(f *pflag.Flag) bool { return f.Shorthand != "" })
	heads, width := make([]string, len(flags)), 0
	for i, f := range flags {
		name, _ := pflag.UnquoteUsage(f)
		heads[i] = strings.TrimRight("--"+f.Name+" "+name, " ")
		switch {
		case f.Shorthand != "":
			heads[i] = "-" + f.Shorthand + ", " + heads[i]
		case short:
			heads[i] = "    " + heads[i]
		}
		width = max(width, len(heads[i]))
	}
	for i, f := range flags {
		_, usage := pflag.UnquoteUsage(f)
		if !slices.Contains([]string{"", "0", "false", "[]"}, f.DefValue) {
			usage += " (" + f.DefValue + ")"
		}
		say.Print(w, fmt.Sprintf("  %-*s  ", width, heads[i]), part(usage))
	}
}

// Command is cardtell help: the page of a command or of a topic.
func Command(root *cobra.Command) *cobra.Command {
	help := &cobra.Command{
		Use: "help [COMMAND|TOPIC]",
		RunE: func(_ *cobra.Command, args []string) error {
			c, rest, err := root.Find(args)
			if err == nil && len(rest) > 0 {
				err = NoSuchCommand(c, rest)
			}
			if err != nil {
				return err
			}
			Page(c.OutOrStdout(), c)
			return nil
		},
		ValidArgsFunction: func(_ *cobra.Command, args []string, word string) ([]string, cobra.ShellCompDirective) {
			c, _, err := root.Find(args)
			if err != nil {
				return nil, cobra.ShellCompDirectiveNoFileComp
			}
			var names []string
			for _, sub := range c.Commands() {
				if !sub.Hidden {
					names = append(names, cobra.CompletionWithDesc(sub.Name(), sub.Short))
				}
			}
			return Beginning(names, word), cobra.ShellCompDirectiveNoFileComp
		},
	}
	Describe(help, root.Name()+" help")
	return help
}

// Beginning returns the completions that begin as the word on the line does.
func Beginning(all []cobra.Completion, word string) []cobra.Completion {
	return slices.DeleteFunc(all, func(s cobra.Completion) bool { return !strings.HasPrefix(s, word) })
}
