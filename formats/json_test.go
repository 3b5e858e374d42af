package formats

import (
	"encoding/json"
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/wiegand"
)

// again writes a value as JSON and reads it back.
func again[T any](t *testing.T, v T) (back T) {
	t.Helper()
	text, err := json.Marshal(v)
	require.NoError(t, err)
	require.NoError(t, json.Unmarshal(text, &back), string(text))
	return back
}

// Every format, and a card of it, whole and in part, is the same after JSON.
func TestFormatsAndCardsSurviveJSON(t *testing.T) {
	t.Parallel()
	for f := range Builtin().All() {
		back := again(t, *f)
		assert.Equal(t, f.Layout.Spec(), back.Layout.Spec(), f.ID)
		assert.Equal(t, string(AppendDefinition(nil, f)), string(AppendDefinition(nil, &back)), f.ID)
		assert.Equal(t, f.Examples, back.Examples, f.ID)
		cards := []Card{f.Blank()}
		if i := f.Number(); i >= 0 {
			card, err := f.Blank().With(i, "7")
			if err == nil {
				cards = append(cards, card)
			}
		}
		for _, e := range f.Examples {
			if e.Read.Len() != f.Layout.Len() {
				continue
			}
			card, err := f.Read(e.Read)
			require.NoError(t, err)
			misread, err := f.Read(e.Read.WithBit(0, 1^e.Read.Bit(0))) // a check that fails has to fail afterwards
			require.NoError(t, err)
			cards = append(cards, card, misread)
		}
		for _, card := range cards {
			got := again(t, card)
			assert.Equal(t, f.ID, got.Format.ID)
			assert.Equal(t, card.Known, got.Known, f.ID)
			assert.Equal(t, card.Record.Failed(), got.Record.Failed(), f.ID)
			for i := range f.Layout.Spec().Fields {
				assert.Equal(t, card.Text(i), got.Text(i), f.ID)
			}
			a, ok := card.Bits()
			b, ok2 := got.Bits()
			assert.Equal(t, ok, ok2)
			assert.Equal(t, a, b)
		}
	}
	assert.Equal(t, Card{}, again(t, Card{}))
}

// JSON of something else is an error and no panic.
func TestBadJSON(t *testing.T) {
	t.Parallel()
	good := `"id":"x","weight":1,"standing":"published","kind":"card","spec":{"length":8,"fields":[{"name":"number","bits":"1-8"}]}`
	for text, want := range map[string]error{
		`{"format":{` + good + `},"read":"4:F"}`:              wiegand.ErrLength,
		`{"format":{` + good + `},"fields":["1","2"]}`:        ErrForm,
		`{"format":{` + good + `},"fields":["256"]}`:          wiegand.ErrRange,
		`{"format":{` + good + `,"joined":[1]}}`:              ErrDefinition,
		`{"format":{` + good + `,"kind":"cards"}}`:            ErrSyntax,
		`{"format":{"id":"x"}}`:                               wiegand.ErrLayout,
		`{"format":{` + good + `},"fields":["x"]}`:            ErrSyntax,
		`{"format":{` + good + `},"fields":["1"],"read":"2"}`: ErrSyntax,
	} {
		var card Card
		assert.ErrorIs(t, json.Unmarshal([]byte(text), &card), want, text)
		assert.Equal(t, Card{}, card, text)
	}
	_, err := json.Marshal(Format{ID: "x"})
	assert.ErrorIs(t, err, ErrDefinition)
}

// The names of enums go into JSON and come back; what is none of them prints as such and is not written.
func TestEnumsSurviveJSON(t *testing.T) {
	t.Parallel()
	for i := range len(standingNames) {
		assert.Equal(t, Standing(i), again(t, Standing(i)))
	}
	for i := range len(kindNames) {
		assert.Equal(t, Kind(i), again(t, Kind(i)))
	}
	for i := range len(sightingNames) {
		assert.Equal(t, SightingKind(i), again(t, SightingKind(i)))
	}
	for _, v := range []any{Standing(9), Kind(9), SightingKind(9)} {
		assert.Regexp(t, `^[A-Z][A-Za-z]+\(9\)$`, fmt.Sprint(v))
		_, err := json.Marshal(v)
		assert.ErrorIs(t, err, wiegand.ErrRange, "%v", v)
	}
	for _, text := range []string{"26:32D687E", "150,46143", "04:A2:3B:5C", "hex:96B43F"} {
		s, err := ParseSighting(text)
		require.NoError(t, err)
		assert.Equal(t, s, again(t, s), text)
	}
}

// A card says its numbers where they are known, and only there. The values are those of the published 26-bit standard's
// frame, SIA AC-01-1996.10, computed by hand: 150 is 10010110, 46143 is 1011010000111111.
func TestCardNumbers(t *testing.T) {
	t.Parallel()
	f := Builtin().Find("26-8-16")[0]
	card, err := f.Read(wiegand.MustParseBits("1 10010110 1011010000111111 0"))
	require.NoError(t, err)
	facility, ok := card.Facility()
	number, ok2 := card.Number()
	assert.True(t, ok && ok2)
	assert.Equal(t, []uint64{150, 46143}, []uint64{facility, number})
	part, err := f.Blank().With(f.Number(), "46143")
	require.NoError(t, err)
	for name, c := range map[string]Card{"in part": part, "blank": f.Blank(), "none": {}} {
		_, ok = c.Facility()
		assert.False(t, ok, name)
		_, ok = c.Bits()
		assert.False(t, ok, name)
	}
	wide := Builtin().Find("26-0-24")[0].Blank()
	_, ok = wide.Facility()
	assert.False(t, ok, "a format without one")
}

// Every example of the catalogue is encoded again from its fields by name.
func TestEncodeByName(t *testing.T) {
	t.Parallel()
	n := 0
	for f := range Builtin().All() {
		for _, e := range f.Examples {
			if e.Read.Len() != f.Layout.Len() || f.FieldByName(wiegand.FieldUnknown) >= 0 {
				continue
			}
			card, err := f.Read(e.Read)
			require.NoError(t, err)
			fields := map[string]string{}
			for i, field := range f.Layout.Spec().Fields {
				fields[field.Name] = card.Text(i)
			}
			got, err := f.Encode(fields)
			if assert.NoError(t, err, f.ID) {
				assert.Equal(t, e.Read, got, f.ID)
				n++
			}
		}
	}
	assert.Greater(t, n, 20)
	f := Builtin().Find("26-8-16")[0]
	for _, bad := range []struct {
		fields map[string]string
		want   error
		says   string
	}{
		{map[string]string{"facilty": "1", "number": "1"}, ErrForm,
			`field "facilty": format 26-8-16 has no such field; it has facility, number`},
		{map[string]string{"number": "1"}, ErrMissing, "facility"},
		{map[string]string{"facility": "256", "number": "1"}, wiegand.ErrRange, "0 to 255"},
		{map[string]string{"facility": "x", "number": "1"}, ErrSyntax, "x"},
	} {
		_, err := f.Encode(bad.fields)
		assert.ErrorIs(t, err, bad.want)
		assert.ErrorContains(t, err, bad.says)
	}
}
