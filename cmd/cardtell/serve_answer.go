//go:build !js

package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"slices"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/answer"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/conversion"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/drawn"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/object"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/say"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/serve"
	"github.com/cardtell/cardtell/formats"
)

// What serve answers about one card at a time.

func (s *server) identify(q *serve.Request) (any, error) {
	switch {
	case len(q.Cards) == 0:
		return nil, errors.New("cards: none; write at least one, such as 26:32D687E")
	case q.Top < 0:
		return nil, fmt.Errorf("top: %d: nothing is wanted; write 1 or more", q.Top)
	case q.Top == 0:
		q.Top = defaultTop
	}
	ans, err := s.k.ranker.RankTexts(q.Cards)
	if err != nil {
		return nil, err
	}
	a, err := answer.OfTexts(s.k.ranker, s.k.cat, q.Cards, &ans)
	if err != nil {
		return nil, err
	}
	return json.RawMessage(a.AppendJSON(nil, q.Top)), nil
}

func (s *server) convert(q *serve.Request) (any, error) {
	if len(q.Values) == 0 {
		return nil, errors.New("values: none; write at least one, such as 150,46143")
	}
	conv, err := conversion.New(s.k.cat, s.k.site, s.k.ranker, conversion.Question{From: q.From, To: q.To,
		Format: q.Format, Facility: q.Facility, Door: q.Door})
	if err != nil {
		return nil, err
	}
	var first error
	var w object.Writer
	bad := 0
	w.Open("", '{')
	w.Open("results", '[')
	for _, v := range q.Values {
		answer, err := conv.Convert(v)
		if err == nil {
			answer.Write(&w)
			continue
		}
		if bad++; first == nil {
			first = err
		}
		e := serve.ErrorOf(err) // in place of the results for this value
		w.Open("", '{')
		w.Text("input", say.Clip(v, 48))
		w.Open("error", '{')
		w.Text("kind", e.Kind)
		w.Text("message", e.Message)
		w.Close('}')
		w.Close('}')
	}
	w.Close(']')
	w.Close('}')
	if bad == len(q.Values) {
		return nil, first
	}
	return json.RawMessage(w), nil
}

func (s *server) decode(q *serve.Request) (any, error) {
	if q.Format == "" {
		return nil, errors.New("format: not named; decode takes a read apart by one format, identify tells which it can be")
	}
	found, err := conversion.Formats(s.k.cat, q.Format)
	if err != nil {
		return nil, err
	}
	read, err := formats.ParseSighting(q.Read)
	if err != nil {
		return nil, err
	}
	if read.Kind != formats.Read {
		return nil, fmt.Errorf("read: %q: is no read; write LENGTH:HEX, or bits:… for 0s and 1s", say.Clip(q.Read, 40))
	}
	card, err := drawn.ReadAs(found, read.Bits)
	if err != nil {
		return nil, err
	}
	return newDecodedJSON(&card), nil
}

func (s *server) encode(q *serve.Request) (any, error) {
	if q.Format == "" {
		return nil, errors.New("format: not named; it says where the fields go")
	}
	found, err := conversion.Formats(s.k.cat, q.Format)
	if err != nil {
		return nil, err
	}
	at := slices.IndexFunc(found, func(f *formats.Format) bool { return f.Layout.Len() == q.Length || q.Length == 0 })
	if at < 0 || q.Length == 0 && len(found) > 1 {
		return nil, fmt.Errorf("length: %d: no such length; format %s has %s", q.Length, q.Format, bitsOf(found))
	}
	read, err := found[at].Encode(q.Fields)
	if err != nil {
		return nil, err
	}
	card, err := found[at].Read(read)
	return newDecodedJSON(&card), err
}

// bitsOf says how many bits the reads of a format have.
func bitsOf(found []*formats.Format) string {
	first, last := found[0].Layout.Len(), found[len(found)-1].Layout.Len()
	if first == last {
		return fmt.Sprintf("%d bits", first)
	}
	return fmt.Sprintf("%d to %d bits; say how many", first, last)
}

// decodedJSON is the result of decode and of encode.
type decodedJSON struct {
	Format  string          `json:"format"`
	Bits    string          `json:"bits"`
	BitsHex string          `json:"bits_hex"`
	Length  int             `json:"length"`
	OK      bool            `json:"ok"` // every check holds
	Card    json.RawMessage `json:"card"`
}

// newDecodedJSON gives the bits as they are, which for a read whose checks fail are not those that encode would give.
func newDecodedJSON(c *formats.Card) decodedJSON {
	b := c.Record.Bits()
	return decodedJSON{
		Format: c.Format.ID, Bits: b.String(), BitsHex: b.Hex(), Length: b.Len(), OK: c.Record.OK(),
		Card: answer.AppendCard(nil, c),
	}
}
