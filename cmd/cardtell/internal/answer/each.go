package answer

import (
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"sync"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/object"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/say"
	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/rank"
	"github.com/cardtell/cardtell/wiegand"
)

// Memory keeps what was answered for texts, for all who ask at once: a log has the same cards over and over. What is
// kept first stays. The zero Memory knows nothing.
type Memory struct {
	lock  sync.RWMutex
	known map[string]known
}

// known is an answer without the number of its line, which begins it.
type known struct {
	rest []byte
	fits bool
}

// mostKnown is how many texts are kept, about, some times as many as a site has cards.
const mostKnown = 1 << 13

// find returns what is known of a text, if anything; room says whether more can be kept.
func (m *Memory) find(text string) (k known, ok, room bool) {
	m.lock.RLock()
	defer m.lock.RUnlock()
	k, ok = m.known[text]
	return k, ok, len(m.known) < mostKnown
}

func (m *Memory) keep(text string, rest []byte, fits bool) {
	m.lock.Lock()
	defer m.lock.Unlock()
	if m.known == nil {
		m.known = map[string]known{}
	}
	m.known[text] = known{slices.Clone(rest), fits}
}

// Each answers for cards one by one, each by itself and on one line. It uses its memory again, and is for one who asks.
type Each struct {
	Ranker    *rank.Ranker
	Catalogue formats.Catalogue
	JSON      bool
	Top       int // readings in JSON
	Known     *Memory

	cards [1]formats.Sightings
	ans   rank.Answer
	texts *rank.TextAnswer // nil where the text can be meant in one way only
}

// Append appends the answer for a card, with its place in front, and reports whether something fits it. The error is
// that of a text that is no card.
func (e *Each) Append(dst []byte, place int, text string) (line []byte, fits bool, err error) {
	line = e.appendPlace(dst, place)
	k, ok, room := e.Known.find(text)
	if ok {
		return append(line, k.rest...), k.fits, nil
	}
	if err := e.weigh(text); err != nil {
		return dst, false, err
	}
	from := len(line)
	a := Answer{Kind: Kind{Cards: e.cards[:], Ans: &e.ans, First: e.ans.First, texts: e.texts},
		serial: aloneSerial(e.cards[:], e.Catalogue)}
	if e.JSON {
		if e.texts != nil {
			a.taken = takenFor(text, 0, e.texts.Taken)
		}
		line = append(a.appendKeys(line, e.Top), '\n')
	} else {
		line = a.appendText(line)
	}
	fits = a.Fits()
	if room {
		e.Known.keep(text, line[from:], fits)
	}
	return line, fits, nil
}

// AppendError appends what stands in JSON for a card that can't be read.
func (e *Each) AppendError(dst []byte, place int, err error) []byte {
	if !e.JSON {
		return dst
	}
	w := object.Writer(e.appendPlace(dst, place))
	w.Text("error", say.Error(err))
	return append(w, ",\"candidates\":[],\"unknown\":0}\n"...)
}

func (e *Each) appendPlace(dst []byte, place int) []byte {
	if e.JSON {
		return strconv.AppendInt(append(dst, `{"line":`...), int64(place), 10)
	}
	var digits [20]byte
	return say.AppendRight(dst, strconv.AppendInt(digits[:0], int64(place), 10), 7)
}

func (e *Each) weigh(text string) error {
	e.texts = nil
	one, err := formats.AppendSightings(e.cards[0][:0], text)
	if e.cards[0] = one; err == nil && oneSpelling(text, one) {
		err = e.Ranker.RankInto(&e.ans, e.cards[:])
	} else if ways, none := formats.Spellings(text); none != nil {
		return none
	} else {
		var all rank.TextAnswer
		if all, err = e.Ranker.RankSpellings([][]formats.Spelling{ways}); err == nil {
			e.ans, e.cards[0], e.texts = all.Answer, all.Taken[0].Cards[0], &all
		}
	}
	if err == nil {
		return nil
	}
	if bad, ok := errors.AsType[*rank.CardError](err); ok {
		err = errors.New(bad.Reason) // the card is always the first one here
	}
	return fmt.Errorf("%q: %w", say.Clip(text, 48), err)
}

// oneSpelling reports whether a text that is a read can be nothing else, so that it need not be weighed.
func oneSpelling(text string, s formats.Sightings) bool {
	if len(s) != 1 || s[0].Kind != formats.Read {
		return false
	}
	_, hex, ok := strings.Cut(text, ":")
	return !ok || 4*len(hex) >= s[0].Bits.Len()
}

// appendText appends one line: how sure the first reading is, the format, the card. A fault and the first warning
// follow; the rest is for asking about that card alone.
func (a *Answer) appendText(dst []byte) []byte {
	if a.serial != nil {
		return fmt.Appendf(dst, "           a chip's serial of %d bytes  (ask about it alone for what readers send)\n",
			a.serial.bits.Len()/8)
	}
	const care = "  (take care: ask about this card alone)"
	dst = append(dst, "  "...)
	if !Fits(a.Ans) {
		dst = append(say.AppendPercent(dst, a.Ans.Unknown), "  none of the known formats"...)
		if len(a.First) > 0 {
			dst = append(dst, care...)
		}
		return append(dst, '\n')
	}
	c := &a.Ans.Candidates[0]
	dst = append(append(say.AppendPercent(dst, c.Probability), "  "...), c.Format.ID...)
	for n := len(c.Format.ID); n < 16; n++ {
		dst = append(dst, ' ')
	}
	card := c.Sure(a.Cards, 0)
	for i, field := range c.Format.Layout.Spec().Fields {
		if field.Name == wiegand.FieldUnknown || !c.Cards[0].Known.Has(i) {
			continue
		}
		dst = append(append(append(dst, "  "...), field.Name...), ' ')
		if card.Known.Has(i) {
			dst = card.AppendField(dst, i)
		} else {
			dst = append(dst, "unknown"...)
		}
	}
	if c.Fault != rank.None {
		dst = append(append(dst, "  "...), c.Fault.String()...)
	}
	if len(a.First)+len(a.Ans.Warnings) > 0 {
		dst = append(dst, care...)
	}
	return append(dst, '\n')
}
