package manual

import (
	"errors"
	"fmt"
	"os"
	"strconv"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/pattern"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/say"
	"github.com/cardtell/cardtell/formats/near"
)

// NoSuchCommand says what a mistyped command was probably meant to be. It takes no argument: those are commands that
// there are not.
func NoSuchCommand(c *cobra.Command, args []string) error {
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
		return fmt.Errorf("%s %q: takes no argument; leave it out, or see %s --help", c.Name(), say.Clip(args[0], 40),
			c.CommandPath())
	}
	if c.Flags().Lookup(args[0]) != nil {
		return fmt.Errorf("%q: no command but an option; write --%s", args[0], args[0])
	}
	if info, err := os.Stat(args[0]); err == nil && info.Mode().IsRegular() && !c.HasParent() {
		return fmt.Errorf("%q: is a file, and what to do with it is not said; write identify --file, check, batch, learn or "+
			"capture before it", say.Clip(args[0], 40))
	}
	return fmt.Errorf("%q: no such command of %s; nearest: %s", say.Clip(args[0], 40), c.CommandPath(),
		near.List(args[0], names, 2))
}

// OneArgument says what is missing where a command takes one argument.
func OneArgument(what string) cobra.PositionalArgs {
	return func(c *cobra.Command, args []string) error {
		switch len(args) {
		case 0:
			return fmt.Errorf("%s: no %s; name one, as in: %s", c.Name(), what, firstExample(c))
		case 1:
			return nil
		}
		return fmt.Errorf("%s: %q: follows the %s; name one at a time", c.Name(), say.Clip(args[1], 40), what)
	}
}

func firstExample(c *cobra.Command) string {
	line, _, _ := strings.Cut(strings.TrimSpace(strings.ReplaceAll(c.Example, " \\\n   ", "")), "\n")
	return line
}

// takesFile finds a file as the first argument of a command.
var takesFile = pattern.Lazily(`^\[?(?:FILE|EVENTS)\b`)

// FlagError says what is wrong with an option, and what it was probably meant to be.
func FlagError(c *cobra.Command, err error) error {
	if e, ok := errors.AsType[*pflag.NotExistError](err); ok {
		return noSuchOption(c, e)
	}
	if e, ok := errors.AsType[*pflag.ValueRequiredError](err); ok {
		name, _ := pflag.UnquoteUsage(e.GetFlag())
		return fmt.Errorf("--%s: no value; write --%s %s", e.GetFlag().Name, e.GetFlag().Name, name)
	}
	if e, ok := errors.AsType[*pflag.InvalidValueError](err); ok {
		what := map[string]string{
			"int": "a whole number; write one, such as 5", "bool": "true or false; write one of them",
			"duration": "a time; write one, such as 50ms", "float64": "a number; write one, such as 2.5",
		}[e.GetFlag().Value.Type()]
		if errors.Is(e, strconv.ErrRange) {
			return fmt.Errorf("--%s %q: is too large; write a smaller number", e.GetFlag().Name, say.Clip(e.GetValue(), 40))
		}
		if what != "" {
			return fmt.Errorf("--%s %q: is not %s", e.GetFlag().Name, say.Clip(e.GetValue(), 40), what)
		}
		return fmt.Errorf("--%s %q: %w", e.GetFlag().Name, say.Clip(e.GetValue(), 40), e.Unwrap())
	}
	return err
}

func noSuchOption(c *cobra.Command, e *pflag.NotExistError) error {
	if e.GetSpecifiedShortnames() != "" {
		return fmt.Errorf("-%s: no such option; %s --help lists them; write -- before an argument that begins with a dash",
			say.Clip(e.GetSpecifiedShortnames(), 40), c.CommandPath())
	}
	_, arguments, _ := strings.Cut(c.Use, " ")
	if name := e.GetSpecifiedName(); (name == "file" || name == "input") && takesFile().MatchString(arguments) {
		return fmt.Errorf("--%s: no such option; write the file by itself, as in: %s", name, firstExample(c))
	}
	var names []string
	c.Flags().VisitAll(func(f *pflag.Flag) { names = append(names, f.Name) })
	return fmt.Errorf("--%s: no such option; nearest: --%s; %s --help lists all", say.Clip(e.GetSpecifiedName(), 40),
		near.Sort(e.GetSpecifiedName(), names)[0], c.CommandPath())
}
