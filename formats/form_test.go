package formats

import (
	"fmt"
	"math/big"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/wiegand"
)

// Cards in every form that their formats have; a form that is not named must be refused. The forms of the whole
// read are worked out from it. Own arithmetic, done apart from this program; the examples of 150,46143 and of
// 40-bit numbers are those of public questions and answers on printed numbers.
var formTable = []struct {
	id, read string
	texts    map[string]string
}{
	{"26-8-16", "26:32D687E", map[string]string{
		"pair": "150,46143", "joined": "15046143", "number": "46143", "number10": "0000046143",
		"decimal": "9876543", "decimal10": "0009876543", "hex": "96B43F", "words": "00150,46143",
		"fields": "facility=150 number=46143",
	}},
	{"26-0-24", "26:32D687E", map[string]string{
		"number": "9876543", "number10": "0009876543", "decimal": "9876543", "decimal10": "0009876543",
		"hex": "96B43F", "words": "00150,46143", "pair24": "150,46143", "joined24": "15046143",
		"fields": "number=9876543",
	}},
	{"pin-26", "26:00009A4", map[string]string{
		"pair": "000,01234", "joined": "00001234", "number": "1234", "number10": "0000001234", "decimal": "1234",
		"decimal10": "0000001234", "hex": "0004D2", "words": "00000,01234", "fields": "facility=0 number=1234",
	}},
	{"34-16-16", "34:06073A862", map[string]string{
		"pair": "12345,54321", "joined": "1234554321", "number": "54321", "number10": "0000054321",
		"decimal": "809096241", "decimal10": "0809096241", "hex": "3039D431", "words": "12345,54321",
		"fields": "facility=12345 number=54321",
	}},
	{"34-0-32", "34:313A83703", map[string]string{
		"number": "2312379265", "number10": "2312379265", "decimal": "2312379265", "decimal10": "2312379265",
		"hex": "89D41B81", "words": "35284,07041", "pair24": "212,07041", "joined24": "21207041", "number24": "13900673",
		"uid": "89:D4:1B:81", "uid-reversed": "81:1B:D4:89", "uid-decimal": "2312379265",
		"uid-reversed-decimal": "2166084745", "fields": "number=2312379265",
	}},
	{"35-12-20", "35:29A41BBAA", map[string]string{
		"pair": "1234,0056789", "joined": "12340056789", "number": "56789", "number10": "0000056789",
		"decimal": "1293999573", "decimal10": "1293999573", "hex": "4D20DDD5", "words": "19744,56789",
		"fields": "facility=1234 number=56789",
	}},
	{"37-16-19", "37:030393C481", map[string]string{
		"pair": "12345,123456", "joined": "12345123456", "number": "123456", "number10": "0000123456",
		"decimal": "6472458816", "decimal10": "6472458816", "hex": "0181C9E240",
		"fields": "facility=12345 number=123456",
	}},
	{"40-8-32", "40:0D0031EF53", map[string]string{
		"number": "3272531", "number10": "0003272531", "decimal": "55837847379", "decimal10": "55837847379",
		"hex": "0D0031EF53", "pair24": "049,61267", "joined24": "04961267", "number24": "3272531", "uid": "00:31:EF:53",
		"uid-reversed": "53:EF:31:00", "uid-decimal": "3272531", "uid-reversed-decimal": "1408184576",
		"fields": "version=13 number=3272531",
	}},
	{"48-22-23", "48:3C0E440F1201", map[string]string{
		"pair": "3935812,0493824", "joined": "39358120493824", "number": "493824", "number10": "0000493824",
		"decimal": "33015984523520", "decimal10": "33015984523520", "hex": "1E0722078900",
		"fields": "facility=3935812 number=493824",
	}},
	{"56-0-56-reversed", "56:803285A2DBA904", map[string]string{
		"number": "1312660696412800", "number10": "1312660696412800", "decimal": "1312660696412800",
		"decimal10": "1312660696412800", "hex": "04A9DBA2853280", "pair24": "133,12928", "joined24": "13312928",
		"number24": "8729216",
		"uid":      "04:A9:DB:A2:85:32:80", "uid-reversed": "80:32:85:A2:DB:A9:04", "uid-decimal": "1312660696412800",
		"uid-reversed-decimal": "36084346563307780", "fields": "number=1312660696412800",
	}},
	{"64-8-32-rows", "64:FF818000CAA974C8", map[string]string{
		"number": "1202659", "number10": "0001202659", "decimal": "25771006435", "decimal10": "25771006435",
		"hex": "06001259E3", "pair24": "018,23011", "joined24": "01823011", "number24": "1202659", "uid": "00:12:59:E3",
		"uid-reversed": "E3:59:12:00", "uid-decimal": "1202659", "uid-reversed-decimal": "3814265344",
		"fields": "version=6 number=1202659",
	}},
	{"piv-75", "75:002000045A47A6B8B5F", map[string]string{
		"joined": "00032000010092446", "decimal": "18446782360074962351", "decimal10": "18446782360074962351",
		"hex": "0001000022D23D35C5AF", "fields": "agency=32 system=1 credential=92446 expiry=20301231",
	}},
	{"uuid-128", "128:F81D4FAE7DEC11D0A76500A0C91E6BF6", map[string]string{
		"number": "329800735698586629295641978511506172918", "number10": "329800735698586629295641978511506172918",
		"decimal":   "329800735698586629295641978511506172918",
		"decimal10": "329800735698586629295641978511506172918", "hex": "F81D4FAE7DEC11D0A76500A0C91E6BF6",
		"pair24": "030,27638", "joined24": "03027638", "number24": "1993718",
		"fields": "number=329800735698586629295641978511506172918",
	}},
	{"keypad-8", "8:87", map[string]string{
		"number": "7", "number10": "0000000007", "decimal": "7", "decimal10": "0000000007", "hex": "07",
		"words": "00000,00007", "fields": "number=7",
	}},
	{"fascn-64", "64:0032000109244601", map[string]string{
		"joined": "00320001092446", "hex": "0032000109244601",
		"fields": "agency=0032 system=0001 credential=092446 series=0 issue=1",
	}},
	{"keys-26", "26:02468AC", map[string]string{
		"number": "123456", "number10": "0000123456", "hex": "123456", "fields": "number=123456",
	}},
	{"fascn-200", "200:D0439458210C2C19A0846D83685A1082108CE73984108CA3FC", map[string]string{
		"joined": "00320001092446", "hex": "00320001092446011112223333112232",
		"fields": "agency=0032 system=0001 credential=092446 series=0 issue=1 person=1112223333 category=1 organisation=1223 association=2",
	}},
	{"track2", "11010 00001 10000 01000 11001 11111 00100", map[string]string{"number": "0123", "fields": "number=0123"}},
}

func TestForms(t *testing.T) {
	catalogue := Builtin()
	seen := map[string]bool{}
	for _, row := range formTable {
		read := wiegand.MustParseBits(row.read)
		f := formatOfLength(catalogue, row.id, read.Len())
		require.NotNil(t, f, row.id)
		c, err := f.Read(read)
		require.NoError(t, err)
		for _, form := range Forms() {
			want, ok := row.texts[form.Name]
			switch form.Name {
			case "bits":
				want, ok = read.String(), true
			case "bits-hex":
				want, ok = read.Hex(), true
			case "read-decimal", "read-hex", "read-hex-left":
				want, ok = readAlone(form.Name, read.String()), true
			}
			seen[form.Name] = seen[form.Name] || ok
			fits, why := form.Fits(f)
			got, err := form.Text(&c)
			assert.Equal(t, ok, fits, "%s in form %s: %s", row.id, form.Name, why)
			if !ok {
				assert.ErrorIs(t, err, ErrForm, form.Name)
				assert.EqualError(t, err, "as "+form.Name+": format "+row.id+" "+why)
				_, err = form.Parse(f, "1")
				assert.ErrorIs(t, err, ErrForm, form.Name)
				continue
			}
			require.NoError(t, err)
			assert.Equal(t, want, got, "%s in form %s", row.id, form.Name)
			readsBack(t, form, &c, got)
			readsBack(t, form, &c, " "+got+"\n") // white space around it is ignored
		}
	}
	for _, form := range Forms() {
		assert.True(t, seen[form.Name], "as %s has no row", form.Name)
	}
}

// readAlone writes 0s and 1s as one number, by math/big.
func readAlone(form, ones string) string {
	if form == "read-hex-left" {
		ones += strings.Repeat("0", (8-len(ones)%8)%8)
	}
	v, _ := new(big.Int).SetString(ones, 2)
	if form == "read-decimal" {
		return v.String()
	}
	return fmt.Sprintf("%0*X", (len(ones)+3)/4, v)
}

// speaksOf returns the fields that a form says something about: what reading it must make known.
func speaksOf(form Form, f *Format) FieldSet {
	set := f.Blank().Known // constants are known anyway
	add := func(fields ...int) {
		for _, i := range fields {
			set |= 1 << i
		}
	}
	switch form.Name {
	case "pair":
		add(f.Facility(), f.Number())
	case "joined":
		add(f.Joined...)
	case "number", "number10", "pair24", "joined24", "number24", "uid", "uid-reversed", "uid-decimal",
		"uid-reversed-decimal":
		add(f.Number())
	case "bits", "bits-hex", "read-decimal", "read-hex", "read-hex-left":
		return f.all()
	default: // decimal, decimal10, hex, words, fields
		for i, field := range f.Layout.Spec().Fields {
			if field.Name != wiegand.FieldUnknown {
				add(i)
			}
		}
	}
	return set
}

// readsBack reads a card from what was written of it: what the form speaks of comes back, and nothing else is made up.
func readsBack(t *testing.T, form Form, c *Card, text string) {
	t.Helper()
	f := c.Format
	back, err := form.Parse(f, text)
	if strings.HasSuffix(form.Name, "24") && f.Layout.Spec().Fields[f.Number()].Bits.Len() > 24 {
		assert.ErrorIs(t, err, ErrMissing, "the form has dropped bits")
		assert.Contains(t, err.Error(), "they can't be told from it")
		return
	}
	require.NoError(t, err, "%s from form %s", f.ID, form.Name)
	require.Equal(t, speaksOf(form, f), back.Known, "%s from form %s", f.ID, form.Name)
	for i := range f.Layout.Spec().Fields {
		if back.Known.Has(i) {
			require.Equal(t, c.Text(i), back.Text(i), "%s from form %s %q", f.ID, form.Name, text)
		} else {
			require.Empty(t, back.Text(i))
		}
	}
	if back.Whole() {
		require.Equal(t, *c, back, "%s from form %s", f.ID, form.Name)
		return
	}
	again, err := form.Text(&back)
	require.NoError(t, err)
	require.Equal(t, strings.TrimSpace(text), again, "%s in form %s", f.ID, form.Name)
}

const seedOfCards = 26

// Every card of every format comes back from every form that its format has.
func TestEveryFormOfEveryFormat(t *testing.T) {
	catalogue := Builtin()
	times := 300
	if testing.Short() {
		times = 20
	}
	for i := range catalogue.Len() {
		f := catalogue.At(i)
		random := rand.New(rand.NewPCG(seedOfCards, uint64(i)))
		for range times {
			c := randomCard(t, f, random)
			for _, form := range Forms() {
				if ok, _ := form.Fits(f); ok {
					text, err := form.Text(&c)
					require.NoError(t, err, "%s in form %s", f.ID, form.Name)
					readsBack(t, form, &c, text)
				}
			}
		}
	}
}

// randomCard makes a card of a format, small values as often as large ones.
func randomCard(t *testing.T, f *Format, random *rand.Rand) Card {
	t.Helper()
	r := f.Layout.Blank()
	for i, field := range f.Layout.Spec().Fields {
		if field.Constant != "" {
			continue
		}
		n := f.valueWidth(i)
		v := wiegand.BitsFromWords([4]uint64{random.Uint64(), random.Uint64(), random.Uint64(), random.Uint64()}, n)
		small := random.IntN(n + 1)
		for k := range n {
			switch {
			case field.Coding == wiegand.Binary && k < small: // leading zeros
				v = v.WithBit(k, 0)
			case (field.Coding == wiegand.BCD || field.Coding == wiegand.Digits5) && k%4%3 > 0: // of 8 and up only 8 and 9
				v = v.WithBit(k, v.Bit(k)&^v.Bit(k/4*4))
			}
		}
		var err error
		r, err = r.WithValue(i, v)
		require.NoError(t, err)
	}
	require.True(t, r.OK(), "%s %s", f.ID, r.Bits())
	c, err := f.Read(r.Bits())
	require.NoError(t, err)
	return c
}

// Texts that read as the same card though the form writes them otherwise, and texts that are refused.
func TestFormsParse(t *testing.T) {
	catalogue := Builtin()
	for _, c := range []struct{ form, id, text, want string }{
		{"pair", "26-8-16", "1,2", "facility=1 number=2"},
		{"pair", "26-8-16", "150-46143", "facility=150 number=46143"},
		{"pair", "26-8-16", "150/46143", "facility=150 number=46143"},
		{"pair", "26-8-16", "150 46143", "facility=150 number=46143"},
		{"pair", "26-8-16", "000150,000046143", "facility=150 number=46143"},
		{"joined", "26-8-16", "146143", "facility=1 number=46143"},
		{"joined", "fascn-64", "320001092446", "agency=0032 system=0001 credential=092446"},
		{"number", "26-8-16", "00007", "number=7"},
		{"number10", "26-8-16", "7", "number=7"},
		{"decimal", "26-8-16", "0009876543", "facility=150 number=46143"},
		{"decimal10", "26-8-16", "9876543", "facility=150 number=46143"},
		{"decimal", "40-8-32", "0000009876543", "version=0 number=9876543"},
		{"hex", "26-8-16", "96b43f", "facility=150 number=46143"},
		{"hex", "26-8-16", "hex:0096B43F", "facility=150 number=46143"},
		{"words", "26-8-16", "150,46143", "facility=150 number=46143"},
		{"words", "34-0-32", "0015046143", "number=9876543"},
		{"words", "34-0-32", "0015346143", "number=10073151"},
		{"pair24", "26-0-24", "15046143", "number=9876543"},
		{"joined24", "26-0-24", "150,46143", "number=9876543"},
		{"joined24", "26-0-24", "7746200", "number=5092472"}, // 77 · 65536 + 46200
		{"joined24", "26-0-24", "046200", "number=46200"},
		{"bits", "26-8-16", "26:32D687E", "facility=150 number=46143"},
		{"bits-hex", "26-8-16", "11001011 01011010 00011111 10", "facility=150 number=46143"},
		{"uid", "32-0-32", "uid:ECE58673", "number=3974465139"},
		{"uid", "32-0-32", "EC-E5-86-73", "number=3974465139"},
		{"uid-reversed", "32-0-32", "73:86:E5:EC", "number=3974465139"},
		{"uid-decimal", "32-0-32", "03974465139", "number=3974465139"},
		{"fields", "26-8-16", "number=46143  facility=0150", "facility=150 number=46143"},
		{"fields", "26-8-16", "number=46143", "number=46143"},
	} {
		form, ok := FormByName(c.form)
		require.True(t, ok)
		card, err := form.Parse(catalogue.Find(c.id)[0], c.text)
		require.NoError(t, err, "%s %q", c.form, c.text)
		fields, _ := FormByName("fields")
		got, err := fields.Text(&card)
		require.NoError(t, err)
		assert.Equal(t, c.want, got, "%s %q", c.form, c.text)
	}
}

// A number that does not fit is never cut; the message names the range, or the shape that would do.
func TestFormErrors(t *testing.T) {
	catalogue := Builtin()
	for _, c := range []struct {
		form, id, text string
		kind           error
		message        string
	}{
		{"pair", "26-8-16", "256,1", wiegand.ErrRange, `facility "256": does not fit 8 bits: 0 to 255`},
		{"pair", "26-8-16", "255,65536", wiegand.ErrRange, `number "65536": does not fit 16 bits: 0 to 65535`},
		{"pair", "26-8-16", "15046143", ErrForm,
			`as pair "15046143": is not two numbers with a comma between, such as 150,46143`},
		{"pair", "26-8-16", "150, 46143", ErrForm,
			`as pair "150, 46143": is not two numbers with a comma between, such as 150,46143`},
		{"pair", "26-8-16", "150,", wiegand.ErrSyntax, `number: no digits`},
		{"pair", "26-8-16", ",46143", wiegand.ErrSyntax, `facility: no digits`},
		{"pair", "pin-26", "150,1234", wiegand.ErrRange, `facility: is always 0 in this layout`},
		{"joined", "26-8-16", "46143", ErrForm,
			`as joined "46143": has 5 digits; format 26-8-16 takes 8, or down to 6 where zeros at the start are left out`},
		{"joined", "26-8-16", "150461430", ErrForm,
			`as joined "150461430": has 9 digits; format 26-8-16 takes 8, or down to 6 where zeros at the start are left out`},
		{"joined", "26-8-16", "25646143", wiegand.ErrRange, `facility "256": does not fit 8 bits: 0 to 255`},
		{"joined", "26-8-16", "15é6143", wiegand.ErrSyntax, `as joined "15é6143": 'é' is no digit; write digits`},
		{"number", "26-8-16", "65536", wiegand.ErrRange, `number "65536": does not fit 16 bits: 0 to 65535`},
		{"number", "26-8-16", "٣", wiegand.ErrSyntax, `number "٣": '٣' is no digit; write digits`},
		{"number", "26-8-16", "1 2", wiegand.ErrSyntax, `number "1 2": ' ' is no digit; write digits`},
		{"number", "track2", "=", nil, ``},
		{"number", "track2", "124", wiegand.ErrRange, `number "124": 3 signs where there are 1`},
		{"decimal", "26-8-16", "16777216", wiegand.ErrRange,
			`as decimal "16777216": does not fit 24 bits: 0 to 16777215`},
		{"decimal", "26-8-16", "", ErrForm, `as decimal: is no decimal number; write digits`},
		{"decimal", "26-8-16", "-1", ErrForm, `as decimal "-1": is no decimal number; write digits`},
		{"decimal", "uuid-128", "1" + strings.Repeat("0", 99), wiegand.ErrRange,
			`as decimal "1` + strings.Repeat("0", 47) +
				`…": does not fit 128 bits: 0 to 340282366920938463463374607431768211455`},
		{"hex", "26-8-16", "", ErrForm, `as hex: is no hex number; write 0-9 and A-F`},
		{"hex", "26-8-16", "hex:", ErrForm, `as hex "hex:": is no hex number; write 0-9 and A-F`},
		{"hex", "26-8-16", "96B43G", ErrForm, `as hex "96B43G": is no hex number; write 0-9 and A-F`},
		{"hex", "26-8-16", "1000000", wiegand.ErrRange,
			`as hex "1000000": does not fit the 24 data bits of format 26-8-16`},
		{"hex", "fascn-56", "0032000109244A", wiegand.ErrRange,
			`as hex "0032000109244A": format fascn-56 has decimal digits only: digits of bits 33-56 fails`},
		{"hex", "pin-26", "0104D2", wiegand.ErrRange, `facility: is always 0 in this layout`},
		{"words", "26-8-16", "256,1", wiegand.ErrRange,
			`as words "256,1": does not fit the 24 data bits of format 26-8-16`},
		{"words", "26-8-16", "32768,1", wiegand.ErrRange,
			`as words "32768,1": does not fit the 24 data bits of format 26-8-16`},
		{"words", "26-8-16", "65536,1", wiegand.ErrRange, `as words "65536": does not fit 16 bits: 0 to 65535`},
		{"words", "26-8-16", "1,65536", wiegand.ErrRange, `as words "65536": does not fit 16 bits: 0 to 65535`},
		{"words", "26-8-16", "123", ErrForm,
			`as words "123": is not two numbers with a comma between, such as 150,46143`},
		{"pair24", "26-0-24", "256,1", wiegand.ErrRange, `as pair24 "256": does not fit 8 bits: 0 to 255`},
		{"pair24", "26-0-24", "1,65536", wiegand.ErrRange, `as pair24 "65536": does not fit 16 bits: 0 to 65535`},
		{"pair24", "26-0-24", "12", ErrForm,
			`as pair24 "12": is not two numbers with a comma between, such as 150,46143`},
		{"joined24", "26-0-24", "46200", ErrForm,
			`as joined24 "46200": is not 8 digits, or down to 6 where zeros at the start are left out`},
		{"joined24", "34-0-32", "15046143", ErrMissing,
			`as joined24 "15046143": leaves out the top 8 bits of the number of format 34-0-32; they can't be told from it`},
		{"number24", "34-0-32", "16777216", wiegand.ErrRange,
			`as number24 "16777216": does not fit 24 bits: 0 to 16777215`},
		{"pair24", "34-0-32", "256,1", wiegand.ErrRange, `as pair24 "256": does not fit 8 bits: 0 to 255`},
		{"bits", "26-8-16", "26:32D687F", ErrForm,
			`as bits "26:32D687F": is no good read of format 26-8-16: odd parity over bits 14-26 fails; present the card again`},
		{"bits", "26-8-16", "37:0", wiegand.ErrLength, `as bits "37:0": has 37 bits; format 26-8-16 has 26`},
		{"bits", "26-8-16", "x", wiegand.ErrSyntax,
			`parse bits "x": character 1 is 'x'; write 0s and 1s, or LENGTH:HEX such as 26:32D687E`},
		{"bits", "pin-26", "26:32D687E", ErrForm,
			`as bits "26:32D687E": is no good read of format pin-26: fixed bits 2-9 fails; present the card again`},
		{"uid", "32-0-32", "04:A9:DB:A2:85:32:80", wiegand.ErrLength,
			`as uid "04:A9:DB:A2:85:32:80": has 7 bytes; format 32-0-32 has 4`},
		{"uid", "56-0-56", "04:A9:DB:A2", wiegand.ErrLength, `as uid "04:A9:DB:A2": has 4 bytes; format 56-0-56 has 7`},
		{"uid-reversed", "32-0-32", "04:A9:DB", ErrSyntax,
			`as uid-reversed "04:A9:DB": 3 bytes; a chip serial has 4, 5, 7, 8 or 10`},
		{"uid-decimal", "32-0-32", "4294967296", wiegand.ErrRange,
			`as uid-decimal "4294967296": does not fit 32 bits: 0 to 4294967295`},
		{"uid-reversed-decimal", "32-0-32", "x", ErrForm,
			`as uid-reversed-decimal "x": is no decimal number; write digits`},
		{"fields", "26-8-16", "", ErrForm, `as fields: no fields; write name=value with spaces between`},
		{"fields", "26-8-16", "number", ErrForm,
			`as fields "number": is no name=value of format 26-8-16, which has facility, number`},
		{"fields", "26-8-16", "site=1", ErrForm,
			`as fields "site=1": is no name=value of format 26-8-16, which has facility, number`},
		{"fields", "48-22-23", "unknown=1", ErrForm,
			`as fields "unknown=1": is no name=value of format 48-22-23, which has facility, number`},
		{"fields", "26-8-16", "number=1 number=2", ErrForm, `as fields "number=1 number=2": gives the number twice`},
		{"fields", "26-8-16", "number=65536", wiegand.ErrRange, `number "65536": does not fit 16 bits: 0 to 65535`},
	} {
		form, ok := FormByName(c.form)
		require.True(t, ok)
		f := catalogue.Find(c.id)[0]
		card, err := form.Parse(f, c.text)
		if c.kind == nil {
			assert.NoError(t, err, "%s %q", c.form, c.text)
			continue
		}
		assert.ErrorIs(t, err, c.kind, "%s %q", c.form, c.text)
		assert.EqualError(t, err, c.message, "%s %q", c.form, c.text)
		assert.Zero(t, card)
	}
}

// What a card does not say is asked for, not made up.
func TestFormsThatNeedMore(t *testing.T) {
	catalogue := Builtin()
	number := func(id string) Card {
		form, _ := FormByName("number")
		return must(form.Parse(catalogue.Find(id)[0], "46143"))
	}
	for _, c := range []struct {
		id, form, message string
	}{
		{"26-8-16", "pair", `as pair: format 26-8-16 needs the facility as well; give it too`},
		{"26-8-16", "bits", `as bits: format 26-8-16 needs the facility as well; give it too`},
		{"26-8-16", "decimal10", `as decimal10: format 26-8-16 needs the facility as well; give it too`},
		{"40-8-32", "hex", `as hex: format 40-8-32 needs the version as well`},
		{"32-0-32", "uid", `as uid: format 32-0-32 needs the number as well`},
		{"32-0-32", "uid-reversed", `as uid-reversed: format 32-0-32 needs the number as well`},
		{"32-0-32", "uid-decimal", `as uid-decimal: format 32-0-32 needs the number as well`},
		{"26-0-24", "pair24", `as pair24: format 26-0-24 needs the number as well`},
		{"26-0-24", "joined24", `as joined24: format 26-0-24 needs the number as well`},
		{"26-0-24", "number10", `as number10: format 26-0-24 needs the number as well`},
		{"48-22-23", "bits-hex",
			`as bits-hex: format 48-22-23 has bits whose rule is not known, so that a read can't be made up`},
	} {
		card := number(c.id)
		if strings.Contains(c.message, "needs the number") {
			card = card.Format.Blank()
		}
		form, _ := FormByName(c.form)
		text, err := form.Text(&card)
		assert.ErrorIs(t, err, ErrMissing)
		assert.EqualError(t, err, c.message)
		assert.Empty(t, text)
	}

	// With the facility it is whole.
	card, err := number("26-8-16").WithFacility("150")
	require.NoError(t, err)
	assert.True(t, card.Whole())
	assert.Equal(t, "26:32D687E", card.Record.Bits().Hex())
	_, err = number("34-0-32").WithFacility("150")
	assert.EqualError(t, err, `facility "150": format 34-0-32 has no facility field; leave it out`)
	_, err = number("26-8-16").WithFacility("256")
	assert.ErrorIs(t, err, wiegand.ErrRange)

	fields, _ := FormByName("fields")
	blank := catalogue.Find("26-8-16")[0].Blank()
	_, err = fields.Text(&blank)
	assert.EqualError(t, err, "as fields: no field is known")
}

// Of a blank card the constants are known and nothing else; a field that is not known is not written.
func TestBlankCards(t *testing.T) {
	f := must(ParseDefinitions("f", []byte(`
[[format]]
id = "a"
description = "constants second and fourth"
length = 8
fields = [{ name = "facility", bits = "1-2" }, { name = "b", bits = "3-4", value = "2" }, { name = "number", bits = "5-6" }, { name = "d", bits = "7-8", value = "1" }]
`)))[0]
	c := f.Blank()
	assert.Equal(t, FieldSet(0b1010), c.Known)
	assert.False(t, c.Whole())
	for i, want := range []string{"x", "x2", "x", "x1"} {
		assert.Equal(t, want, string(c.AppendField([]byte("x"), i)))
		assert.Equal(t, want, "x"+c.Text(i))
	}
	c = must(must(c.With(2, "3")).WithFacility("1"))
	assert.True(t, c.Whole())
	assert.Equal(t, "x3", string(c.AppendField([]byte("x"), 2)))
}

// What forms need of a format: fields whose meaning is known, and for two halves at most 32 bits of them. A format
// whose layout a caller has changed is looked at anew.
func TestWhatFormsNeed(t *testing.T) {
	format := func(name string, length int) Format {
		return must(ParseDefinitions("f", fmt.Appendf(nil,
			"[[format]]\nid = \"a\"\ndescription = \"d\"\nlength = %d\nfields = [{ name = %q, bits = \"1-$\" }]\n", length,
			name)))[0]
	}
	fits := func(form string, f Format) bool {
		fm, ok := FormByName(form)
		require.True(t, ok)
		yes, why := fm.Fits(&f)
		assert.Equal(t, yes, why == "")
		return yes
	}
	for _, form := range []string{"hex", "decimal", "decimal10", "words"} {
		assert.True(t, fits(form, format("number", 32)), form)
		assert.Equal(t, form != "words", fits(form, format("number", 33)), form)
		assert.False(t, fits(form, format("unknown", 32)), form)
	}
	for bits, want := range map[int]bool{23: false, 24: true, 25: true} {
		assert.Equal(t, want, fits("pair24", format("number", bits)))
	}
	for bits := 8; bits <= 96; bits += 8 { // ISO/IEC 14443-3: 4, 7 or 10 bytes; ISO/IEC 15693-3: 8; 125 kHz tags: 5
		assert.Equal(t, bits == 32 || bits == 40 || bits == 56 || bits == 64 || bits == 80,
			fits("uid", format("number", bits)), bits)
		assert.False(t, fits("uid", format("agency", bits)))
	}
	changed := format("number", 32)
	changed.Layout = format("unknown", 32).Layout
	for _, form := range []string{"number", "hex", "words", "uid"} {
		assert.False(t, fits(form, changed), form)
	}
}

// The top bits that a form leaves out are asked for, be it one; a number that never changes is not read as another one.
func TestFormsOfOddNumbers(t *testing.T) {
	parse := func(field, form, text string) error {
		f := must(ParseDefinitions("f", []byte("[[format]]\nid = \"a\"\ndescription = \"d\"\nlength = 40\nfields = ["+field+"]\n")))[0]
		fm, _ := FormByName(form)
		c, err := fm.Parse(&f, text)
		if err != nil {
			assert.Zero(t, c)
		}
		return err
	}
	const rest = `, { name = "unknown", bits = "33-40" }`
	assert.ErrorIs(t, parse(`{ name = "number", bits = "1-25" }, { name = "x", bits = "26-40" }`, "pair24", "1,2"),
		ErrMissing)
	assert.NoError(t, parse(`{ name = "number", bits = "1-24" }, { name = "x", bits = "25-40" }`, "pair24", "1,2"))
	assert.NoError(t, parse(`{ name = "number", bits = "1-32", value = "16909060" }`+rest, "uid", "01:02:03:04"))
	const message = `as uid: number: is always 16909060 in this layout`
	for form, text := range map[string]string{
		"uid": "01:02:03:05", "uid-reversed": "01:02:03:04", "uid-decimal": "1", "number": "1", "decimal": "1",
	} {
		assert.ErrorIs(t, parse(`{ name = "number", bits = "1-32", value = "16909060" }`+rest, form, text), wiegand.ErrRange,
			message)
	}
}

// The longest decimal there is: 2^256-1, of 78 digits.
func TestLongestDecimal(t *testing.T) {
	f := must(ParseDefinitions("f", []byte("[[format]]\nid = \"a\"\ndescription = \"d\"\nlength = 256\nfields = [{ name = \"number\", bits = \"1-$\" }]\n")))[0]
	form, _ := FormByName("decimal")
	largest := maxOf(256)
	require.Len(t, largest, 78)
	for _, text := range []string{largest, "000" + largest} {
		c, err := form.Parse(&f, text)
		require.NoError(t, err)
		assert.Equal(t, 256, c.Record.Bits().OnesCount())
		assert.Equal(t, largest, must(form.Text(&c)))
	}
	for _, text := range []string{strings.Repeat("9", 78), "1" + strings.Repeat("0", 78)} {
		_, err := form.Parse(&f, text)
		assert.ErrorIs(t, err, wiegand.ErrRange)
	}
}

// Nothing panics where there is no form, no format or no card.
func TestNoFormNoFormat(t *testing.T) {
	_, ok := FormByName("barcode")
	assert.False(t, ok)
	_, err := Form{}.Parse(Builtin().At(0), "1")
	assert.ErrorIs(t, err, ErrForm)
	for _, form := range append(Forms(), Form{}) {
		_, err := form.Parse(nil, "1")
		assert.ErrorIs(t, err, ErrForm, form.Name)
		_, err = form.Text(&Card{})
		assert.ErrorIs(t, err, ErrForm, form.Name)
	}
	var c Card
	assert.False(t, c.Whole())
	assert.Empty(t, c.Text(0))
	assert.Equal(t, "x", string(c.AppendField([]byte("x"), 0)))
	_, err = c.WithFacility("1")
	assert.EqualError(t, err, `facility "1": format ? has no facility field; leave it out`)
	assert.ErrorIs(t, err, ErrForm)
	number, _ := FormByName("number")
	_, why := number.Fits(nil)
	assert.Equal(t, "is not known", why)
	fits, why := Form{}.Fits(Builtin().At(0))
	assert.False(t, fits)
	assert.Equal(t, "has no such form", why)
	_, err = c.With(0, "1")
	assert.ErrorIs(t, err, wiegand.ErrRange)
	assert.False(t, FieldSet(1).Has(-1) || FieldSet(1).Has(16))
	assert.Equal(t, 2, FieldSet(5).Len())
}

// Forms say of themselves what they give for the 26-bit card of facility 150, number 46143, which all manuals here use.
func TestFormExamples(t *testing.T) {
	f := Builtin().Find("26-8-16")[0]
	c := must(f.Read(wiegand.MustParseBits("26:32D687E")))
	for _, form := range Forms() {
		assert.Contains(t, form.Description, " ", form.Name)
		text, err := form.Text(&c)
		assert.Equal(t, form.Example == "", err != nil, form.Name)
		assert.Equal(t, form.Example, text, form.Name)
	}
}

// Serials of every length that chips have; no format of the catalogue has one of 5 or 10 bytes. The examples are made
// up; own arithmetic.
func TestSerialsOfEveryLength(t *testing.T) {
	for _, c := range []struct{ uid, reversed, decimal, reversedDecimal string }{
		{"EC:E5:86:73", "73:86:E5:EC", "3974465139", "1938220524"},
		{"06:00:12:59:E3", "E3:59:12:00:06", "25771006435", "976451928070"},
		{"04:A9:DB:A2:85:32:80", "80:32:85:A2:DB:A9:04", "1312660696412800", "36084346563307780"},
		{"E0:04:01:50:76:D2:81:05", "05:81:D2:76:50:01:04:E0", "16142028409505218821", "396829647775532256"},
		{"04:01:02:03:04:05:06:07:08:09", "09:08:07:06:05:04:03:02:01:04",
			"18908057639584918865929", "42649378395939397566724"},
	} {
		n := (len(c.uid) + 1) / 3 * 8
		f := must(ParseDefinitions("f", fmt.Appendf(nil,
			"[[format]]\nid = \"serial\"\ndescription = \"d\"\nlength = %d\nfields = [{ name = \"number\", bits = \"1-$\" }]\n",
			n)))[0]
		for name, text := range map[string]string{
			"uid": c.uid, "uid-reversed": c.reversed, "uid-decimal": c.decimal, "uid-reversed-decimal": c.reversedDecimal,
		} {
			form, _ := FormByName(name)
			card, err := form.Parse(&f, text)
			require.NoError(t, err)
			assert.Equal(t, c.decimal, card.Text(0), "%s %s", name, text)
			assert.Equal(t, text, must(form.Text(&card)))
		}
	}
}

// How many digits the largest value of n bits has, for every n (own arithmetic: the digits of 2^n-1 written out).
func TestDecimalDigits(t *testing.T) {
	for n := 1; n <= wiegand.MaxBits; n++ {
		assert.Equal(t, len(maxOf(n)), decimalDigits(n), n)
	}
	assert.Equal(t, "65535", maxOf(16))
	assert.Equal(t, fmt.Sprint(uint64(1)<<32-1), maxOf(32))
}

// A joined form of signs takes all sixteen and no other; where the number is not known, nothing is cut from it.
func TestFormsAtTheirEdges(t *testing.T) {
	t.Parallel()
	signs := must(ParseDefinitions("f", []byte(`[[format]]
id = "x"
description = "d"
length = 20
fields = [{ name = "a", bits = "1-10", coding = "signs5" }, { name = "b", bits = "11-20", coding = "signs5" }]
joined = ["a", "b"]`)))[0]
	joined, _ := FormByName("joined")
	for text, ok := range map[string]bool{"0123": true, ":;<=": true, ">?99": true, "01@2": false, "01/2": false} {
		c, err := joined.Parse(&signs, text)
		assert.Equal(t, ok, err == nil, "%s: %v", text, err)
		if ok {
			assert.Equal(t, text, must(joined.Text(&c)))
		}
	}
	digits := Builtin().Find("26-8-16")[0]
	_, err := joined.Parse(digits, "1?0461")
	assert.ErrorIs(t, err, wiegand.ErrSyntax, "a sign among digits")
	low, _ := FormByName("number24")
	blank := Builtin().Find("34-0-32")[0].Blank()
	_, err = low.Text(&blank)
	assert.ErrorIs(t, err, ErrMissing)
}
