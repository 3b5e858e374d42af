package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/manual"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/typed"
)

// setHelp gives a command tree this program's help, its topics, and its words for mistakes.
func (a *app) setHelp(root *cobra.Command) {
	root.SetHelpFunc(func(c *cobra.Command, _ []string) { manual.Screen(c.OutOrStdout(), c) })
	root.SetHelpCommand(manual.Command(root))
	root.AddCommand(manual.Topics()...)
	root.CompletionOptions.DisableDefaultCmd = true
	completing(a, root)
	root.SetFlagErrorFunc(manual.FlagError)
	root.Args = func(c *cobra.Command, args []string) error {
		if len(args) > 0 && typed.IsCard(args) {
			return nil
		}
		return manual.NoSuchCommand(c, args)
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
	manual.Walk(root, func(c *cobra.Command) {
		manual.Describe(c, c.CommandPath())
		if c.Flags().Lookup("help") == nil {
			c.Flags().BoolP("help", "h", false, "print this page")
		}
	})
}
