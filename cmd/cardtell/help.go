package main

import (
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"github.com/cardtell/cardtell/formats/near"
)

// Help is one page a command, in the same order: what it is for, how it is called, its options, two examples that run
// as they stand from the top folder of the project. It goes to standard output, 80 columns wide. cardtell help COMMAND
// prints the page, --help as much of it as a screen holds.

// setHelp gives a command tree this program's help, its topics, and its words for mistakes.
func (a *app) setHelp(root *cobra.Command) {
	root.SetHelpFunc(func(c *cobra.Command, _ []string) { printScreen(c.OutOrStdout(), c) })
	root.SetHelpCommand(a.helpCommand(root))
	root.AddCommand(topicCommands()...)
	root.CompletionOptions.DisableDefaultCmd = true
	root.AddCommand(a.completionCommand(root))
	root.SetFlagErrorFunc(flagError)
	root.Args = func(c *cobra.Command, args []string) error {
		if len(args) > 0 && cardOrCommand(args) {
			return nil
		}
		return noSuchCommand(c, args)
	}
	root.RunE = func(c *cobra.Command, args []string) error {
		if asked, err := c.Flags().GetBool("version"); err != nil || asked {
			fmt.Fprintf(a.out, "%s %s\n", c.Name(), version())
			return err
		}
		if len(args) == 0 {
			return c.Help()
		}
		o := identifyOptions{app: a, top: defaultTop}
		return o.run(args)
	}
	root.Flags().BoolP("version", "v", false, "print the release")
	walk(root, func(c *cobra.Command) {
		if c.Flags().Lookup("help") == nil {
			c.Flags().BoolP("help", "h", false, "print this page")
		}
	})
}

// walk calls use for every command of a tree.
func walk(c *cobra.Command, use func(*cobra.Command)) {
	use(c)
	for _, sub := range c.Commands() {
		walk(sub, use)
	}
}

// isTopic reports whether a command is a page of help only.
func isTopic(c *cobra.Command) bool { return !c.Runnable() && !c.HasSubCommands() }

// printHelp writes a command's page.
func printHelp(w io.Writer, c *cobra.Command) {
	long := c.Long
	if long == "" {
		long = c.Short + "."
	}
	fmt.Fprintln(w, long)
	if isTopic(c) {
		return
	}
	fmt.Fprintf(w, "\nUsage: %s\n", usageLine(c))
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
		case isTopic(sub):
			topics = append(topics, sub.Name())
		case (sub.IsAvailableCommand() || sub.Name() == "help") && shown(sub):
			fmt.Fprintf(w, "  %-11s %s\n", sub.Name(), sub.Short)
		}
	}
	if topics != nil {
		fmt.Fprintf(w, "\nTopics (cardtell help TOPIC): %s\n", strings.Join(topics, ", "))
	}
}

// usageLine is how a command is called.
func usageLine(c *cobra.Command) string {
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
		printWrapped(w, "  of lists  ", strings.Join(ofLists, " ")+" (cardtell help lists)")
	}
	if shared != nil {
		printWrapped(w, "  of all    ", strings.Join(shared, " ")+" (cardtell help)")
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
		printWrapped(w, fmt.Sprintf("  %-*s  ", width, heads[i]), part(usage))
	}
}

// helpCommand is cardtell help: the page of a command or of a topic.
func (a *app) helpCommand(root *cobra.Command) *cobra.Command {
	return &cobra.Command{
		Use:   "help [COMMAND|TOPIC]",
		Short: "Prints the page of a command or of a topic",
		Long: `Prints the page of a command or of a topic.

Every command prints its own with --help as well, as much of it as fits a
screen.`,
		Example: "  cardtell help identify\n  cardtell help spelling",
		RunE: func(_ *cobra.Command, args []string) error {
			c, rest, err := root.Find(args)
			if err == nil && len(rest) > 0 {
				err = noSuchCommand(c, rest)
			}
			if err != nil {
				return err
			}
			printHelp(c.OutOrStdout(), c)
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
			return beginning(names, word), cobra.ShellCompDirectiveNoFileComp
		},
	}
}

// noSuchCommand says what a mistyped command was probably meant to be. It takes no argument: those are commands that
// there are not.
func noSuchCommand(c *cobra.Command, args []string) error {
	if len(args) == 0 {
		return nil
	}
	var names []string
	for _, sub := range c.Commands() {
		if !sub.Hidden {
			names = append(names, sub.Name())
		}
	}
	if len(names) == 0 {
		return fmt.Errorf("%s %q: takes no argument; leave it out, or see %s --help", c.Name(), clip(args[0], 40),
			c.CommandPath())
	}
	return fmt.Errorf("%q: no such command of %s; nearest: %s", clip(args[0], 40), c.CommandPath(),
		near.List(args[0], names, 2))
}

// oneArgument says what is missing where a command takes one argument.
func oneArgument(what string) cobra.PositionalArgs {
	return func(c *cobra.Command, args []string) error {
		switch len(args) {
		case 0:
			return fmt.Errorf("%s: no %s; name one, as in: %s", c.Name(), what, firstExample(c))
		case 1:
			return nil
		}
		return fmt.Errorf("%s: %q: follows the %s; name one at a time", c.Name(), clip(args[1], 40), what)
	}
}

func firstExample(c *cobra.Command) string {
	line, _, _ := strings.Cut(strings.TrimSpace(c.Example), "\n")
	return line
}

// flagError says what is wrong with an option, and what it was probably meant to be.
func flagError(c *cobra.Command, err error) error {
	if e, ok := errors.AsType[*pflag.NotExistError](err); ok {
		return noSuchOption(c, e)
	}
	if e, ok := errors.AsType[*pflag.ValueRequiredError](err); ok {
		name, _ := pflag.UnquoteUsage(e.GetFlag())
		return fmt.Errorf("--%s: no value; write --%s %s", e.GetFlag().Name, e.GetFlag().Name, name)
	}
	if e, ok := errors.AsType[*pflag.InvalidValueError](err); ok {
		what := map[string]string{
			"int": "a whole number", "bool": "true or false", "duration": "a time, such as 50ms", "float64": "a number",
		}[e.GetFlag().Value.Type()]
		if what != "" {
			return fmt.Errorf("--%s %q: is not %s that can be read; write one", e.GetFlag().Name, clip(e.GetValue(), 40), what)
		}
	}
	return err
}

func noSuchOption(c *cobra.Command, e *pflag.NotExistError) error {
	if e.GetSpecifiedShortnames() != "" {
		return fmt.Errorf("-%s: no such option; %s --help lists them; write -- before an argument that begins with a dash",
			clip(e.GetSpecifiedShortnames(), 40), c.CommandPath())
	}
	var names []string
	c.Flags().VisitAll(func(f *pflag.Flag) { names = append(names, f.Name) })
	return fmt.Errorf("--%s: no such option; nearest: --%s", clip(e.GetSpecifiedName(), 40),
		near.List(e.GetSpecifiedName(), names, 1))
}
