package learn

import (
	"cmp"
	"fmt"
	"reflect"
	"slices"
	"strconv"
	"strings"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/internal/evidence"
	"github.com/cardtell/cardtell/formats/internal/typing"
	"github.com/cardtell/cardtell/formats/internal/words"
	"github.com/cardtell/cardtell/formats/rank"
)

// given is what is printed on a card, as it stands there, and as it is meant.
type given struct {
	Read
	print formats.Sighting
}

// printOf reads a printed number: digits, two groups of digits with one of , - / or a space between, or hex: and hex
// digits; or a chip serial in bytes.
func printOf(line int, text string) (print formats.Sighting, err error) {
	if hex, ok := strings.CutPrefix(text, typing.HexPrefix); ok {
		if _, err := strconv.ParseUint(hex, 16, 64); err != nil {
			return print, fail(lineOf(line), text, "no printed number: hex of up to 64 bits follows hex:", ErrReads)
		}
		return formats.Sighting{Kind: formats.Hex, Text: strings.ToUpper(hex)}, nil
	}
	if strings.Contains(text, ":") { // uid: too
		print, err = formats.ParseSighting(text)
		if err != nil || print.Kind != formats.Serial {
			return print, fail(lineOf(line), text,
				"no printed number and no chip serial; write digits, or uid: and two hex digits for each byte", ErrReads)
		}
		return print, nil
	}
	high, tail, pair := text, "", false
	if i := strings.IndexAny(text, ",-/ "); i >= 0 {
		high, tail, pair = text[:i], text[i+1:], true
	}
	for _, c := range high + tail {
		if c < '0' || c > '9' {
			return print, fail(lineOf(line), text,
				fmt.Sprintf("no printed number: %q is no digit; write digits, two groups of digits such as 150,46143, or hex: before a number in hex", c), ErrReads)
		}
	}
	if high == "" || pair && tail == "" {
		return print, fail(lineOf(line), text, "no printed number: its separator has no digits beside it", ErrReads)
	}
	if !typing.OneWord(high + tail) {
		return print, fail(lineOf(line), text, "more than 64 bits hold; give the last digits, or learn without it",
			ErrReads)
	}
	return formats.Sighting{Kind: formats.Printed, Text: text}, nil
}

// mostSpelled is how long a print is at most that is looked into: none that 64 bits hold is longer.
const mostSpelled = 64

// spellings returns all that a card can be: a read, and a number for each of what is printed on it.
func spellings(read Read, prints []given) []formats.Spelling {
	text := read.Bits.Hex()
	for k := range prints {
		print := prints[k].Printed
		_, err := printOf(read.Line, print)
		if len(print) > mostSpelled || strings.ContainsAny(print, "=;\t") ||
			err != nil && strings.Trim(print, "0123456789,-/ ") == "" { // digits that are no number
			return nil
		}
		text += "=" + print
	}
	all, _ := formats.Spellings(text)
	return slices.DeleteFunc(all, func(s formats.Spelling) bool {
		isRead := func(one formats.Sighting) bool { return one.Kind == formats.Read }
		return len(s.Sightings) != 1+len(prints) || !isRead(s.Sightings[0]) || slices.ContainsFunc(s.Sightings[1:], isRead)
	})
}

// meanings returns what rank says that is printed, the likeliest way first; none where that can't be asked.
func (s *sample) meanings(known formats.Catalogue) ([]rank.Taken, error) {
	spelled := make([][]formats.Spelling, len(s.reads))
	for i := range s.reads {
		if spelled[i] = spellings(s.reads[i], s.prints[i]); len(spelled[i]) == 0 {
			return nil, nil
		}
	}
	ranker, err := rank.New(known)
	if err != nil {
		return nil, err
	}
	ans, err := ranker.RankSpellings(spelled)
	var ways []rank.Taken
	for _, w := range ans.Taken { // of which some differ in their words alone
		same := func(o rank.Taken) bool { return slices.EqualFunc(o.Cards, w.Cards, slices.Equal) }
		if k := slices.IndexFunc(ways, same); k >= 0 {
			ways[k].Probability += w.Probability
		} else {
			ways = append(ways, w)
		}
	}
	return ways, err
}

// mean takes what is printed in one of these ways. as says what that is, and changed whether it is anything else than
// what it was taken for so far.
func (s *sample) mean(taken *rank.Taken) (as []string, changed bool) {
	for i, card := range taken.Cards {
		parts := strings.Split(taken.As[i], words.And)
		for k := range s.prints[i] {
			one := &s.prints[i][k]
			print := card[1+k]
			changed = changed || one.print.Kind != print.Kind || one.print.Text != print.Text
			one.print = print
			same := print.Kind == formats.Printed && typing.Digits(print.Text) == typing.Digits(one.Printed)
			plain := print.Kind == formats.Hex && strings.HasPrefix(one.Printed, typing.HexPrefix) ||
				print.Kind == formats.Serial && strings.Contains(one.Printed, ":")
			if word := parts[min(1+k, len(parts)-1)]; !same && !plain && !slices.Contains(as, word) {
				as = append(as, word)
			}
		}
		s.sightings[i] = slices.Concat(s.sightings[i][:1], card[1:])
	}
	return as, changed
}

// open is the error about the first print that is no number by itself, nil where all are.
func (s *sample) open() error {
	for _, all := range s.prints {
		for k := range all {
			if all[k].print.Kind == 0 {
				_, err := printOf(all[k].Line, all[k].Printed)
				return err
			}
		}
	}
	return nil
}

// astray reports whether the prints of a kind have to do with nothing, or more of them than are slips.
func astray(r *Result) bool {
	wrong := 0
	for i := range r.Misreads {
		wrong += min(1, len(r.Misreads[i].Printed))
	}
	return r.Printed > 0 && (r.Unrelated >= 0.5 || 4*wrong >= r.Printed)
}

// learn learns from reads whose prints may be meant otherwise than they stand: that is asked where some of them are no
// numbers by themselves, most have to do with nothing, or there are several kinds by them.
func (s *sample) learn(known formats.Catalogue) (all []Result, err error) {
	model, err := evidence.New(known, nil)
	if err != nil {
		return nil, err
	}
	open := s.open()
	if open == nil {
		all, err = s.asItStands(model)
		if err != nil || !slices.ContainsFunc(s.prints, func(all []given) bool { return len(all) > 0 }) ||
			len(all) == 1 && !astray(&all[0]) {
			return all, err
		}
	}
	ways, err := s.meanings(known)
	if err != nil || len(ways) == 0 {
		return all, cmp.Or(err, open)
	}
	as, changed := s.mean(&ways[0])
	if changed || open != nil {
		if all, err = s.asItStands(model); err != nil {
			return nil, err
		}
	}
	if len(as) > 0 {
		all[0].Warnings = append(all[0].Warnings, fmt.Sprintf("what is printed is taken for %s, with probability %s",
			strings.Join(as, ", or "), decimals(ways[0].Probability)))
	}
	return all, s.otherwise(model, all, ways)
}

// hardlyMeant is the probability of another way to mean prints below which nothing is learned from it.
const hardlyMeant = 0.01

// otherwise makes the probability of what was learned from prints in the first of these ways that over all of them: of
// cards of one kind the same layout may follow from others, as a format does in rank.
func (s *sample) otherwise(model *evidence.Model, all []Result, ways []rank.Taken) error {
	probs := make([]float64, len(all))
	for w := range ways {
		others, p := all, ways[w].Probability
		if p < hardlyMeant || w > 0 && len(all) > 1 {
			break
		}
		if w > 0 {
			var err error
			s.mean(&ways[w])
			if others, err = s.asItStands(model); err != nil {
				return err
			}
		}
		for i := range all {
			if k := slices.IndexFunc(others, func(o Result) bool { return all[i].isOf(&o) }); k >= 0 {
				probs[i] += p * others[k].Probability
			}
		}
	}
	for i := range all {
		if all[i].Probability = probs[i]; len(all) > 1 {
			all[i].Several *= ways[0].Probability
		}
	}
	return nil
}

// isOf reports whether another result says the same of the same cards.
func (r *Result) isOf(o *Result) bool {
	return r.Example == o.Example && r.Swapped == o.Swapped && reflect.DeepEqual(r.Spec, o.Spec)
}
