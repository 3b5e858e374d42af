package rank

import (
	"math"
	"slices"
	"strings"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/internal/evidence"
	"github.com/cardtell/cardtell/formats/internal/logp"
	"github.com/cardtell/cardtell/formats/internal/typing"
	"github.com/cardtell/cardtell/formats/internal/words"
)

// fewOthers is how many cards there are of one length, at most, to each of another one that is no misread.
const fewOthers = 4

// fewPrints is how many prints without a read it takes to see that they have more on them.
const fewPrints = 3

// besides returns the ways in which the prints beside reads have more on them than the card's number, where they are
// unlikely beside those reads as they stand: else none of these ways is likelier than its share. Prints without a read
// follow from some card nearly always, so that they are weighed where there are a few of them. Cards of several
// lengths are of several kinds, each printed in its own way, and those of one length may be. The error is that of Rank.
func (r *asking) besides(w *way) (all []*way, err error) {
	read, unread := byRead(w.taken.Cards)
	if severalLengths(read, len(w.taken.Cards)) {
		return r.besidesOfEach(w, joined(read, unread))
	}
	var prints []string
	beside, few := false, 0 // prints of the first cards
	for i, s := range w.taken.Cards {
		if i == sampled {
			few = len(prints)
		}
		for _, one := range s {
			if print := typing.PrintText(one); print != "" {
				prints, beside = append(prints, print), beside || hasRead(s)
			}
		}
	}
	if beside {
		log, err := r.printsLog(w.taken.Cards)
		if err != nil || log > math.Log(typing.BesidesShare) {
			return nil, err
		}
	} else if len(prints) < fewPrints {
		return nil, nil
	}
	n := min(sampled, len(w.taken.Cards))
	own, ownFew := different(w.taken.Cards), different(w.taken.Cards[:n])
	for _, b := range typing.BesidesOf(prints) {
		one := &way{log: w.log, rests: b.Log(len(prints)), few: b.Log(few)}
		for i, s := range w.taken.Cards {
			var as string
			s, as, b.Prints = without(s, w.taken.As[i], b)
			one.taken.Cards, one.taken.As = append(one.taken.Cards, s), append(one.taken.As, as)
		}
		one.rests += sameNumber * float64(own-different(one.taken.Cards))
		one.few += sameNumber * float64(ownFew-different(one.taken.Cards[:n]))
		all = append(all, one)
	}
	if !beside {
		return all, nil
	}
	var dealt [][][]int
	if len(unread)*fewOthers > len(w.taken.Cards) {
		dealt = append(dealt, append(read, unread))
	}
	k, err := r.model.KindsGiven(w.taken.Cards, 0, r.memory)
	if err != nil {
		return all, err
	}
	if len(k.Groups) > 1 {
		dealt = append(dealt, k.Groups)
	}
	each, err := r.besidesOfEach(w, dealt)
	return distinct(append(all, each...)), err
}

// distinct leaves out ways that mean the same cards as one before them.
func distinct(ways []*way) (all []*way) {
	for _, one := range ways {
		same := func(o *way) bool { return slices.EqualFunc(o.taken.Cards, one.taken.Cards, slices.Equal) }
		if !slices.ContainsFunc(all, same) {
			all = append(all, one)
		}
	}
	return all
}

// besidesOfEach returns the ways of besidesOf for each dealing of the cards into kinds, the same cards once.
func (r *asking) besidesOfEach(w *way, dealt [][][]int) (all []*way, err error) {
	for _, kinds := range dealt {
		some, err := r.besidesOf(w, kinds)
		if err != nil {
			return nil, err
		}
		all = append(all, some...)
	}
	return distinct(all), nil
}

// joined deals cards out by their length: those without a read are a kind of their own, or of the kind of one length.
func joined(read [][]int, unread []int) (dealt [][][]int) {
	if len(unread) == 0 {
		return append(dealt, read)
	}
	dealt = append(dealt, append(slices.Clone(read), unread))
	for i := range read {
		one := slices.Clone(read)
		one[i] = append(slices.Clone(read[i]), unread...)
		dealt = append(dealt, one)
	}
	return dealt
}

// sameNumber is the log of how seldom two prints that differ are of cards with the same number: a judgement.
var sameNumber = math.Log(1e-3)

// different returns how many different cards there are.
func different(cards []formats.Sightings) int {
	seen := map[string]bool{}
	for i := range cards {
		seen[evidence.Key(cards[i:i+1])] = true
	}
	return len(seen)
}

// printsLog is the log probability of what else is seen of the first cards that have a read, given those reads. The
// error is that of Rank.
func (r *asking) printsLog(cards []formats.Sightings) (float64, error) {
	var some []formats.Sightings
	for _, s := range cards {
		if hasRead(s) && len(s) > 1 && len(some) < sampled {
			some = append(some, s)
		}
	}
	reads, _ := readsAlone(some)
	all, _, err := r.model.Apart(some, r.memory, nil, logp.Never)
	if err != nil {
		return 0, err
	}
	alone, _, err := r.model.Apart(reads, r.memory, nil, logp.Never)
	return all - alone, err
}

// besidesOf returns the way in which the prints on each of some kinds of card are what they likeliest are by
// themselves, if they are anything else than they are taken for. The error is that of Rank.
func (r *asking) besidesOf(w *way, kinds [][]int) ([]*way, error) {
	one, changed := &way{log: w.log}, false
	one.taken.Cards, one.taken.As = slices.Clone(w.taken.Cards), slices.Clone(w.taken.As)
	for _, places := range kinds {
		some := &way{taken: Taken{Cards: cardsAt(w.taken.Cards, places)}}
		for _, at := range places {
			some.taken.As = append(some.taken.As, w.taken.As[at])
		}
		if err := r.weigh([]*way{some}); err != nil {
			return nil, err
		}
		more, err := r.besides(some) // of one kind
		if err != nil {
			return nil, err
		}
		if len(more) == 0 {
			continue
		}
		best, err := r.likeliest(append(more, some))
		if err != nil {
			return nil, err
		}
		for k, at := range places {
			one.taken.Cards[at], one.taken.As[at] = best.taken.Cards[k], best.taken.As[k]
		}
		one.rests, changed = one.rests+best.rests, changed || best != some
	}
	if !changed {
		return nil, nil
	}
	return []*way{one}, nil
}

// byRead returns the places of the cards that have a read, by its length, and of those that have none.
func byRead(cards []formats.Sightings) (read [][]int, unread []int) {
	for _, places := range ByLength(cards) {
		if hasRead(cards[places[0]]) {
			read = append(read, places)
		} else {
			unread = places
		}
	}
	return read, unread
}

// severalLengths reports whether reads, of so many cards, are of several lengths, beyond some misreads of one.
func severalLengths(read [][]int, cards int) bool {
	most, all := 0, 0
	for _, places := range read {
		most, all = max(most, len(places)), all+len(places)
	}
	return (all-most)*fewOthers > cards
}

// without returns a card of whose prints the first ones are these, what its text is taken for then, and the prints that
// are left for others.
func without(s formats.Sightings, as string, b typing.Besides) (formats.Sightings, string, []string) {
	parts := strings.Split(as, words.And)
	s = slices.Clone(s)
	for k := range s {
		print := typing.PrintText(s[k])
		if print == "" {
			continue
		}
		if print != b.Prints[0] {
			if hex, ok := strings.CutPrefix(b.Prints[0], typing.HexPrefix); ok {
				s[k] = formats.Sighting{Kind: formats.Hex, Text: hex}
			} else {
				s[k].Text = b.Prints[0]
			}
			if len(parts) == len(s) {
				parts[k] = b.Words
			} else {
				parts = append(parts, b.Words)
			}
		}
		b.Prints = b.Prints[1:]
	}
	return s, strings.Join(parts, words.And), b.Prints
}
