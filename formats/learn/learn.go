package learn

import (
	"fmt"
	"slices"
	"sort"
	"strings"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/internal/evidence"
	"github.com/cardtell/cardtell/formats/internal/typing"
	"github.com/cardtell/cardtell/formats/internal/words"
	"github.com/cardtell/cardtell/wiegand"
)

// Read is a card as its reader sent it, and what is printed on it. A card with two numbers on it, as a fob may have, is
// one for each, of the same line.
type Read struct {
	Line int          // where it came from, for messages: a line of a file, or the position among arguments, from 1
	Bits wiegand.Bits // 1 to 256 bits
	// The number printed on the card, as it stands there, or its chip serial; "" where it is not known. What can be several
	// things is taken for what package rank says that it is; a warning says so.
	Printed string
}

// Learn works out the layout of a format from reads of cards of one site: one result for each kind of card among them,
// the shortest reads first. Known formats are recognised, with the probability that rank gives them. It never fails for
// want of evidence: the results say how sure they are and what would help. The error says which line is at fault: a
// print that is no number, a read without bits, or no reads at all.
func Learn(reads []Read, known formats.Catalogue) ([]Result, error) {
	s, err := sortReads(reads)
	if err != nil {
		return nil, err
	}
	return s.learn(known)
}

// asItStands learns from reads and what is printed beside them as it is meant so far.
func (s *sample) asItStands(model *evidence.Model) ([]Result, error) {
	together, joint, err := s.together(model)
	if err != nil {
		return nil, err
	}
	kinds, err := model.KindsGiven(s.sightings, joint, new(evidence.Memory))
	if err != nil {
		return nil, err
	}
	var each []*posterior
	var misreads [][]int                 // of each
	var otherwise [][]evidence.Otherwise // how else its cards may be dealt out
	for i, group := range kinds.Groups {
		lengths, spoilt := s.spoilt(s.byLength(group))
		for _, places := range lengths {
			p := together
			if p == nil || len(places) < len(s.reads) {
				if p, err = infer(model, s, places); err != nil {
					return nil, err
				}
			}
			each, misreads, otherwise = append(each, p), append(misreads, spoilt), append(otherwise, kinds.Otherwise[i])
		}
	}
	apart(each)
	var all []Result
	for i, p := range each {
		one := p.result()
		one.misread(s, misreads[i])
		if one.Probability > 0 {
			if one.Probability, one.Several, err = s.dealt(p, otherwise[i]); err != nil {
				return nil, err
			}
		}
		if len(kinds.Groups) > 1 {
			one.Several = kinds.Probability
		}
		all = append(all, one)
	}
	sort.SliceStable(all, func(i, j int) bool { return all[i].Length < all[j].Length })
	all[0].Warnings = append(all[0].Warnings, s.remarks...)
	if len(all) > 1 {
		for i := range all {
			all[i].Warnings = append(all[i].Warnings, fmt.Sprintf("the reads are of %d kinds, %s; each is learned by itself",
				len(all), kindList(all)))
		}
	}
	return all, nil
}

// together weighs all reads as one kind, where they may be: with reads of one length that is mostly the answer, and
// says what other kinds are weighed against. joint is the log of their probability. nil and 0 where it was not done.
func (s *sample) together(model *evidence.Model) (p *posterior, joint float64, err error) {
	all := make([]int, len(s.reads))
	for i := range all {
		all[i] = i
	}
	if len(s.byLength(all)) > 1 || len(all) > evidence.MostWeighed {
		return nil, 0, nil
	}
	if p, err = infer(model, s, all); err != nil {
		return nil, 0, err
	}
	return p, p.joint, nil
}

func kindList(all []Result) string {
	var parts []string
	for i := range all {
		parts = append(parts, fmt.Sprintf("%d of %d bits", all[i].Reads+len(all[i].Misreads), all[i].Length))
	}
	return strings.Join(parts, ", ")
}

// sample is the different reads that were given, in the order in which they came.
type sample struct {
	reads     []Read
	sightings []formats.Sightings // of each read
	prints    [][]given           // of each read, all that is printed
	remarks   []string
}

// byLength parts reads by their length, the length of the first one first.
func (s *sample) byLength(places []int) (groups [][]int) {
	at := map[int]int{}
	for _, i := range places {
		n := s.reads[i].Bits.Len()
		k, ok := at[n]
		if !ok {
			k, at[n] = len(groups), len(groups)
			groups = append(groups, nil)
		}
		groups[k] = append(groups[k], i)
	}
	return groups
}

// spoilt takes the reads of a kind that have another length than most out of it: a bit of them was lost, or is one too
// many. Where no length has twice as many as all others, nothing says which that is, and each is a kind.
func (s *sample) spoilt(lengths [][]int) (left [][]int, spoilt []int) {
	main, all := 0, 0
	for i := range lengths {
		all += len(lengths[i])
		if len(lengths[i]) > len(lengths[main]) {
			main = i
		}
	}
	if n := len(lengths[main]); len(lengths) == 1 || n < 2*(all-n) {
		return lengths, nil
	}
	for i := range lengths {
		if i != main {
			spoilt = append(spoilt, lengths[i]...)
		}
	}
	return lengths[main : main+1], spoilt
}

// misread notes reads of another length.
func (r *Result) misread(s *sample, places []int) {
	for _, i := range places {
		r.Lines = append(r.Lines, s.reads[i].Line)
		r.Misreads = append(r.Misreads, Misread{Line: s.reads[i].Line, Read: s.reads[i].Bits})
	}
	slices.Sort(r.Lines)
	sortedLines(r.Misreads)
}

// sortReads takes reads apart, without repetitions. Different numbers on the card of one read are all weighed.
func sortReads(reads []Read) (*sample, error) {
	if len(reads) == 0 {
		return nil, fail("learn", "", "no reads; give one READ or READ=PRINTED for each card", ErrReads)
	}
	s := &sample{}
	seen := make(map[wiegand.Bits]int, len(reads))
	repeated := 0
	for i, r := range reads {
		if r.Bits.Len() == 0 {
			return nil, fail(lineOf(r.Line), "", "a read without bits", ErrReads)
		}
		r.Printed = strings.TrimSpace(r.Printed)
		at, again := seen[r.Bits]
		if !again {
			at = len(s.reads)
			seen[r.Bits] = at
			s.reads = append(s.reads, r)
			s.sightings = append(s.sightings, formats.Sightings{{Kind: formats.Read, Bits: r.Bits}})
			s.prints = append(s.prints, nil)
		} else if last := &reads[i-1]; last.Line != r.Line || last.Bits != r.Bits { // not one card with two numbers
			repeated++
		}
		if r.Printed == "" {
			continue
		}
		print, err := printOf(r.Line, r.Printed)
		if err != nil && len(spellings(r, []given{{Read: r}})) == 0 {
			return nil, err
		}
		s.add(at, given{r, print})
	}
	if repeated > 0 {
		s.remarks = append(s.remarks, fmt.Sprintf("%s of a read seen before; a card presented twice says nothing new",
			words.Count(repeated, "repetition")))
	}
	return s, nil
}

// add notes what is printed on the card of a read, unless it was given before.
func (s *sample) add(at int, one given) {
	if slices.ContainsFunc(s.prints[at], func(p given) bool {
		return p.Printed == one.Printed || p.print.Kind != 0 && typing.Digits(p.print.Text) == typing.Digits(one.print.Text)
	}) {
		return
	}
	if s.prints[at] = append(s.prints[at], one); len(s.prints[at]) == 1 {
		s.reads[at].Printed = one.Printed
	}
	s.sightings[at] = append(s.sightings[at], one.print)
}

func lineOf(n int) string { return fmt.Sprintf("line %d", n) }

// sortedLines sorts misreads by their lines.
func sortedLines(all []Misread) {
	sort.SliceStable(all, func(i, j int) bool { return all[i].Line < all[j].Line })
}
