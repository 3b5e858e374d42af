package main

import (
	"bytes"
	"strings"
	"syscall/js"
)

// main gives the page around it one function, and stays for as long as it is asked:
//
//	cardtell(["identify", "26:32D687E"], "text of standard input", 60)
//
// returns a promise of {code, out, err}: the exit code, and what went to standard output and standard error, in tables
// of 60 columns. Files are those of the page's own fs object, which the support file of Go's js port asks.
func main() {
	tables := newTables()
	js.Global().Set("cardtell", js.FuncOf(func(_ js.Value, args []js.Value) any {
		words := make([]string, args[0].Length())
		for i := range words {
			words[i] = args[0].Index(i).String()
		}
		return promise(&app{tables: tables, width: args[2].Int()}, words, args[1].String())
	}))
	js.Global().Call("cardtellReady")
	select {}
}

// promise runs the program beside the page's own loop, which has to go on for files to be read.
func promise(a *app, words []string, stdin string) js.Value {
	begin := js.FuncOf(func(_ js.Value, args []js.Value) any {
		done := args[0]
		go func() {
			var out, errs bytes.Buffer
			code := a.run(words, strings.NewReader(stdin), &out, &errs)
			done.Invoke(map[string]any{"code": code, "out": out.String(), "err": errs.String()})
		}()
		return nil
	})
	defer begin.Release() // a promise calls it before it is made
	return js.Global().Get("Promise").New(begin)
}
