package main

import (
	"errors"

	"github.com/spf13/cobra"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/manual"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/serve"
)

const serveHelp = `Answers requests of another program: one JSON object a line in, one a line out.

  {"id":1,"do":"identify","cards":["26:32D687E=46143"],"top":1}
  {"id":2,"do":"convert","values":["150,46143"],"from":"pair","to":"decimal"}
  {"id":3,"do":"decode","format":"26-8-16","read":"26:32D687E"}
  {"id":4,"do":"encode","format":"26-8-16","fields":{"number":"46143",…}}
  {"id":5,"do":"relate","pairs":["0009876543=150,46143"]}

learn, check and match are asked in the same way; the page for scripts lists
the keys of each.

Answers come in the order of requests: {"id":1,"result":{…}}, or, for a request
that cannot be answered, {"id":1,"error":{"kind":"…","message":"…"}}. A line
that is no request gets an error too, and the next is read, until the input
ends.`

func (a *app) serveCommand() *cobra.Command {
	stdio := false
	c := &cobra.Command{
		Use:   "serve --stdio",
		Short: "Answers requests of another program, as JSON lines",
		Long:  serveHelp,
		Example: `  cardtell serve --stdio < testdata/demo/requests.jsonl
  cardtell serve --stdio --quiet < testdata/demo/requests.jsonl`,
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

// serve answers until the input ends.
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
