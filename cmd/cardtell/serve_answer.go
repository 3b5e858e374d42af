//go:build !js

package main

import (
	"cmp"
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
	return a.JSON(q.Top), nil
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
	bad := 0
	results := func(w *object.Writer) {
		for _, v := range q.Values {
			answer, err := conv.Convert(v)
			if err == nil {
				answer.Write(w)
				continue
			}
			bad++
			first = cmp.Or(first, err)
			w.Object("", func() { // in place of the results for this value
				e := serve.ErrorOf(err)
				w.Text("input", say.Clip(v, 48))
				w.Object("error", func() {
					w.Text("kind", e.Kind)
					w.Text("message", e.Message)
				})
			})
		}
	}
	doc := object.Of(func(w *object.Writer) { w.Array("results", func() { results(w) }) })
	if bad == len(q.Values) {
		return nil, first
	}
	return doc, nil
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
	return decoded(&card), nil
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
	return decoded(&card), err
}

// bitsOf says how many bits the reads of a format have.
func bitsOf(found []*formats.Format) string {
	first, last := found[0].Layout.Len(), found[len(found)-1].Layout.Len()
	if first == last {
		return fmt.Sprintf("%d bits", first)
	}
	return fmt.Sprintf("%d to %d bits; say how many", first, last)
}

// decoded is the result of decode and of encode: the bits as they are, which for a read whose checks fail are not those
// that encode would give.
func decoded(c *formats.Card) any {
	return object.Of(func(w *object.Writer) {
		b := c.Record.Bits()
		w.Text("format", c.Format.ID)
		w.Text("bits", b.String())
		w.Text("bits_hex", b.Hex())
		w.Int("length", b.Len())
		w.Bool("ok", c.Record.OK()) // every check holds
		answer.WriteCard(w, "card", c)
	})
}
