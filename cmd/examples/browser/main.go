//go:build js && wasm

// Command browser puts the library into a web page: it gives the page a function
//
//	cardtell("26:32D687E=46143")
//
// that returns what the card can be, likeliest first, as a list of objects, or an object with an error in it.
// No card number leaves the page.
package main

import (
	"syscall/js"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/rank"
)

func main() {
	ranker, err := rank.New(formats.Builtin())
	if err != nil {
		js.Global().Get("console").Call("error", err.Error())
		return
	}
	js.Global().Set("cardtell", js.FuncOf(func(_ js.Value, args []js.Value) any {
		if len(args) != 1 || args[0].Type() != js.TypeString {
			return map[string]any{"error": "cardtell: takes one text, a card"}
		}
		return tell(ranker, args[0].String())
	}))
	if ready := js.Global().Get("cardtellReady"); ready.Type() == js.TypeFunction {
		ready.Invoke() // the page waits for the function to be there
	}
	select {} // the function is called from the page as long as it is open
}

// tell answers for one card in values that JavaScript takes.
func tell(ranker *rank.Ranker, text string) any {
	card, err := formats.ParseSightings(text)
	if err != nil {
		return map[string]any{"error": err.Error()}
	}
	answer, err := ranker.Rank([]formats.Sightings{card})
	if err != nil {
		return map[string]any{"error": err.Error()}
	}
	var all []any
	for i := range answer.Candidates {
		c := &answer.Candidates[i]
		one := map[string]any{"format": c.Format.ID, "probability": c.Probability, "fault": c.Fault.String()}
		if c.Cards[0].Format != nil {
			one["facility"] = c.Cards[0].Text(c.Format.Facility())
			one["number"] = c.Cards[0].Text(c.Format.Number())
		}
		all = append(all, one)
	}
	return map[string]any{"candidates": all, "unknown": answer.Unknown}
}
