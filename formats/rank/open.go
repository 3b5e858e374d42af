package rank

import (
	"cmp"
	"fmt"
	"slices"
	"sort"
	"strconv"
	"strings"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/internal/words"
)

// open is a text that can be meant in several ways: each by the parts of it that are not the same in all of them.
type open struct {
	keys      []string
	parts     [][]string // of each key
	signature string     // of texts that are written alike: the most usual of them
	sightings int        // how many there are of the card
}

// opened returns what is open in a text: nothing where it can be meant in one way only.
func opened(all []formats.Spelling) (o open) {
	if len(all) < 2 {
		return o
	}
	parts := make([][]string, len(all))
	same := true // they have as many parts
	for i, s := range all {
		parts[i] = strings.Split(s.As, words.And)
		same = same && len(parts[i]) == len(parts[0])
	}
	for i := range all {
		differ := parts[i]
		if same {
			differ = nil
			for k, part := range parts[i] {
				if slices.ContainsFunc(parts, func(p []string) bool { return p[k] != part }) {
					differ = append(differ, part)
				}
			}
		}
		o.keys, o.parts = append(o.keys, strings.Join(differ, words.And)), append(o.parts, differ)
	}
	usual := 0 // how many are as usual as the first
	for usual < len(all) && all[usual].Weight == all[0].Weight {
		usual++
	}
	alike := make([]string, usual)
	for i, parts := range o.parts[:usual] { // in one order, in whichever the card's were written
		parts = slices.Clone(parts)
		for k := range parts {
			parts[k] = withoutLength(parts[k], all[i].Sightings)
		}
		slices.Sort(parts)
		alike[i] = strings.Join(parts, words.And)
	}
	slices.Sort(alike)
	o.signature, o.sightings = strings.Join(slices.Compact(alike), "\n"), len(all[0].Sightings)
	if as, ok := labelled(all); ok { // numbers behind a label have any count of digits
		o.signature = as
	}
	return o
}

// labelled returns what a text is taken for, and the label, that can be a number behind letters where those can be
// digits in hex, too.
func labelled(all []formats.Spelling) (as string, ok bool) {
	hex, number := "", ""
	for _, s := range all {
		if len(s.Sightings) != 1 {
			return "", false
		}
		switch one := s.Sightings[0]; {
		case one.Kind == formats.Hex:
			hex = one.Text
		case one.Kind == formats.Printed && !twoInHex(s):
			as, number = s.As, one.Text
		}
	}
	label, ok := strings.CutSuffix(hex, number)
	return as + " " + label, ok && number != "" && label != ""
}

// withoutLength takes the length off what a read is taken for that is written without one, and says of how many
// digits it is: those are how it is written.
func withoutLength(as string, card formats.Sightings) string {
	rest, ok := strings.CutPrefix(as, aRead)
	_, how, loose := strings.Cut(rest, " bits ")
	at := slices.IndexFunc(card, isRead)
	if !ok || !loose || at < 0 {
		return as
	}
	_, digits, _ := strings.Cut(card[at].Text, ":")
	return fmt.Sprint(aRead, len(digits), " digits ", how)
}

// aRead is how it begins what a read is taken for.
const aRead = "a read of "

// at returns the place of a key among those of the text, or of the one with the most of its parts, as where only one of
// two texts has a print beside its read: what stands first in the key counts more than what stands beside it. longer is
// that of a read which is a bit longer than that of the key, as where it has a bit too many. -1 where there is none.
func (o *open) at(key string) (at int, longer bool) {
	if at = o.nearest(key); at < 0 {
		if long := longerReads(key); long != key {
			at, longer = o.nearest(long), true
		}
	}
	return at, longer
}

func (o *open) nearest(key string) int {
	if at := slices.Index(o.keys, key); at >= 0 {
		return at
	}
	best, most := -1, 0
	parts := strings.Split(key, words.And)
	for i, own := range o.parts {
		if n := common(parts, own); n > most {
			best, most = i, n
		}
	}
	return best
}

// common tells how much of a key is in another one that has nothing else, a bit more where it is in the same order, as
// what is known of cards mostly is noted: 0 where there is something else.
func common(key, own []string) (n int) {
	if len(own) > len(key) {
		return 0
	}
	order := 1
	for i, part := range key {
		if k := slices.Index(own, part); k >= 0 {
			n, own = n+4, slices.Delete(slices.Clone(own), k, k+1)
			if i == 0 {
				n += 2
			}
			if k > 0 {
				order = 0
			}
		}
	}
	if len(own) > 0 {
		return 0
	}
	return n + order
}

// groupsOf returns the signatures of texts that are written alike: first that of the texts that say most of their card,
// of those that of most texts.
func groupsOf(texts []open) (signatures []string) {
	count, most := map[string]int{}, map[string]int{}
	for i := range texts {
		if sign := texts[i].signature; sign != "" {
			if count[sign]++; count[sign] == 1 {
				signatures = append(signatures, sign)
			}
			most[sign] = max(most[sign], texts[i].sightings)
		}
	}
	sort.SliceStable(signatures, func(i, j int) bool {
		a, b := signatures[i], signatures[j]
		return cmp.Or(most[b]-most[a], count[b]-count[a], strings.Compare(a, b)) < 0
	})
	return signatures
}

// longerReads is a key whose read is one bit longer, as that of a text is which has a bit too many; the key itself
// where it has none, or of a length that is written down.
func longerReads(key string) string {
	head, rest, ok := strings.Cut(key, aRead)
	length, how, _ := strings.Cut(rest, " bits ")
	n, err := strconv.Atoi(length)
	if !ok || err != nil {
		return key
	}
	return head + aRead + strconv.Itoa(n+1) + " bits " + how
}
