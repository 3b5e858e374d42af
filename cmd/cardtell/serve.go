//go:build !js

package main

import (
	"errors"

	"github.com/spf13/cobra"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/manual"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/serve"
)

// serving adds the command that answers requests on standard input.
func serving(a *app, root *cobra.Command) { root.AddCommand(a.serveCommand()) }

func (a *app) serveCommand() *cobra.Command {
	stdio := false
	c := &cobra.Command{
		Use:  "serve --stdio",
		Args: manual.NoSuchCommand,
		RunE: func(*cobra.Command, []string) error {
			if !stdio {
				return errors.New("serve: it speaks on standard input and output only; say so with --stdio")
			}
			return a.serve()
		},
	}
	c.Flags().BoolVar(&stdio, "stdio", false, "requests on standard input, answers on standard output")
	return c
}

func (a *app) serve() error {
	k, err := a.knowledge()
	if err != nil {
		return err
	}
	return serve.Run(a.in, a.out, func() func(*serve.Request) (any, error) { return (&server{a, k}).answerer() })
}

// server answers requests, one after another.
type server struct {
	app *app
	k   knowledge
}

func (s *server) answerer() func(*serve.Request) (any, error) {
	verbs := map[string]func(*serve.Request) (any, error){
		"identify": s.identify, "learn": s.learn, "relate": s.relate, "convert": s.convert, "check": s.check,
		"match": s.match, "decode": s.decode, "encode": s.encode,
	}
	return func(q *serve.Request) (any, error) { return verbs[q.Do](q) }
}
