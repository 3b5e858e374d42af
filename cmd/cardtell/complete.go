//go:build !js

package main

import (
	"fmt"
	"os"
	"slices"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/layout"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/list"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/manual"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/picture"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/say"
	"github.com/cardtell/cardtell/formats"
)

// completing adds the command that prints what a shell needs.
func completing(a *app, root *cobra.Command) { root.AddCommand(a.completionCommand(root)) }

// shellAsks tells what options can be where a shell asks for that: the library keeps it, and with it this run, for as
// long as the process lasts.
func shellAsks(a *app, root *cobra.Command, args []string) {
	if len(args) > 0 && strings.HasPrefix(args[0], cobra.ShellCompRequestCmd) {
		a.setCompletion(root)
	}
}

// completionCommand prints what a shell needs to complete command lines of this program.
func (a *app) completionCommand(root *cobra.Command) *cobra.Command {
	shells := []string{"bash", "zsh", "fish", "powershell"}
	return &cobra.Command{
		Use:       "completion bash|zsh|fish|powershell",
		Args:      manual.OneArgument("shell"),
		ValidArgs: shells,
		RunE: func(c *cobra.Command, args []string) error {
			switch args[0] {
			case "bash":
				return root.GenBashCompletionV2(a.out, true)
			case "zsh":
				return root.GenZshCompletion(a.out)
			case "fish":
				return root.GenFishCompletion(a.out, true)
			case "powershell":
				return root.GenPowerShellCompletionWithDesc(a.out)
			}
			return fmt.Errorf("completion %q: no such shell; there are %s", say.Clip(args[0], 40), strings.Join(shells, ", "))
		},
	}
}

// completer gives what an option or an argument can be, in words.
type completer func(c *cobra.Command, args []string) []cobra.Completion

// completers are what an option of each name can be. An option that is not here completes as a file name.
func (a *app) completers() map[string]cobra.CompletionFunc {
	forms, listColumns := begun(completeForms), begun(completeListColumns)
	toml := cobra.FixedCompletions([]cobra.Completion{"toml"}, cobra.ShellCompDirectiveFilterFileExt)
	return map[string]cobra.CompletionFunc{
		"format":      begun(a.completeFormats),
		"from":        forms,
		"to":          forms,
		"printed":     forms,
		"door":        begun(a.completeDoors),
		"column":      begun(completeColumns),
		"list-column": listColumns,
		"names":       listColumns,
		"site":        toml,
		"formats":     toml,
		"top":         cobra.NoFileCompletions,
		"facility":    cobra.NoFileCompletions,
		"title":       cobra.NoFileCompletions,
	}
}

// setCompletion tells every command of the tree what its options and arguments can be.
func (a *app) setCompletion(root *cobra.Command) {
	completers := a.completers()
	manual.Walk(root, func(c *cobra.Command) {
		c.LocalFlags().VisitAll(func(f *pflag.Flag) {
			if complete := completers[f.Name]; complete != nil && c.Flag(f.Name) == f {
				// An error says that the option has a completion already, or is an inherited one.
				_ = c.RegisterFlagCompletionFunc(f.Name, complete)
			}
		})
		switch c.CommandPath() {
		case "cardtell formats show":
			c.ValidArgsFunction = begun(func(c *cobra.Command, args []string) []cobra.Completion {
				if len(args) > 0 {
					return nil
				}
				return a.completeFormats(c, args)
			})
		case "cardtell identify", "cardtell convert", "cardtell draw":
			c.ValidArgsFunction = cobra.NoFileCompletions // a card or a number is no file
		}
	})
}

// begun leaves out the completions that do not begin as the word on the line does. None of them are names of files.
func begun(complete completer) cobra.CompletionFunc {
	return func(c *cobra.Command, args []string, word string) ([]cobra.Completion, cobra.ShellCompDirective) {
		return manual.Beginning(complete(c, args), word), cobra.ShellCompDirectiveNoFileComp
	}
}

func completeForms(*cobra.Command, []string) (all []cobra.Completion) {
	for _, f := range formats.Forms() {
		all = append(all, cobra.CompletionWithDesc(f.Name, f.Description))
	}
	return all
}

// completeFormats gives the ids of the catalogue and of the --formats files on the line; of the catalogue alone where a
// file cannot be read, since a completion has no place for an error.
func (a *app) completeFormats(*cobra.Command, []string) (all []cobra.Completion) {
	cat, err := a.catalogue()
	if err != nil {
		cat = a.tables.catalogue()
	}
	for _, id := range cat.IDs() {
		all = append(all, cobra.CompletionWithDesc(id, layout.ShortDescription(cat.Find(id)[0])))
	}
	return all
}

func (a *app) completeDoors(*cobra.Command, []string) (all []cobra.Completion) {
	_, s, err := a.known()
	if err != nil {
		return nil
	}
	for _, d := range s.Doors {
		all = append(all, cobra.CompletionWithDesc(d.Name, "takes "+d.Enter))
	}
	return all
}

// completeColumns gives the heads of the list that the command line names.
func completeColumns(_ *cobra.Command, args []string) []cobra.Completion {
	if len(args) == 0 {
		return nil
	}
	return heads(args[0])
}

// completeListColumns gives the heads of the list of --list; of the list that the command line names where the command
// has no such option.
func completeListColumns(c *cobra.Command, args []string) []cobra.Completion {
	f := c.Flag("list")
	if f == nil {
		return completeColumns(c, args)
	}
	return heads(f.Value.String())
}

// heads returns the names of a list's columns; none where it cannot be read, or is standard input.
func heads(name string) []cobra.Completion {
	if info, err := os.Stat(name); err != nil || !info.Mode().IsRegular() {
		return nil
	}
	r, err := list.Open(name, list.Options{})
	if err != nil {
		return nil
	}
	defer r.Close()
	_, row, err := r.Head(0)
	if err != nil {
		return nil
	}
	// a shell prints them
	return slices.DeleteFunc(row.Texts(), func(head string) bool { return picture.Clean(head) != head })
}
