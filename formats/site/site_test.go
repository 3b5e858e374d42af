package site

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/formats"
)

func TestStarterIsASiteFile(t *testing.T) {
	s, err := Parse("site.toml", []byte(Starter), formats.Builtin())
	require.NoError(t, err)
	assert.Equal(t, Site{
		Name: "Harbour Row Workshops",
		Cards: []formats.Population{{
			Format: "26-8-16", Facilities: []uint64{121}, Numbers: []formats.Range{{First: 1, Last: 500},
				{First: 1001, Last: 1100}}, Printed: "pair", Line: 8,
		}},
		Doors: []Door{{Name: "North stair", Enter: "pair", Capacity: 250, Line: 15}},
	}, s)
}

func TestFileIsReadBack(t *testing.T) {
	want := Site{
		Name: "Quay \"7\" \\ café",
		Cards: []formats.Population{
			{Format: "26-8-16", Facilities: []uint64{7, 121}, Numbers: []formats.Range{{First: 0, Last: 0}, {First: 3, Last: 9}},
				Printed: "joined"},
			{Format: "64-0-64", Numbers: []formats.Range{{First: 1 << 63, Last: 1<<64 - 1}}},
		},
		Doors: []Door{{Name: "A\tB", Enter: "pair", Capacity: 1}, {Name: "C"}},
	}
	text := want.Append(nil, "one", "", "two\r\n\x1b[31m", "\x7f")
	got, err := Parse("x", text, formats.Builtin())
	require.NoError(t, err, "%s", text)
	for i := range got.Cards {
		got.Cards[i].Line = 0
	}
	for i := range got.Doors {
		got.Doors[i].Line = 0
	}
	assert.Equal(t, want, got)
}

// Each row is a file with one mistake, the line that the error gives, its key, and words that it has.
func TestMistakesHaveLineAndKey(t *testing.T) {
	tests := []struct {
		name, text string
		line       int
		key, says  string
	}{
		{"unknown key at the top", "nam = \"x\"\n", 1, "nam", `there are name`},
		{"unknown key of cards", "[[cards]]\nformat = \"26-8-16\"\nfacilty = 3\n", 3, "cards.facilty", "cards have facility"},
		{"unknown key of a door", "\n\n[[doors]]\nname = \"a\"\nentry = \"pair\"\n", 5, "doors.entry", "doors have enter"},
		{"unknown table", "[[gates]]\nname = \"a\"\n", 1, "gates", "no such key"},
		{"name is a number", "name = 3\n", 1, "name", "integer"},
		{"capacity is a text", "[[doors]]\nname = \"a\"\ncapacity = \"many\"\n", 3, "doors.capacity", "string"},
		{"capacity of nobody", "[[doors]]\nname = \"a\"\ncapacity = 0\n", 3, "doors.capacity", "leave it out"},
		{"facility is a text", "[[cards]]\nformat = \"26-8-16\"\nfacility = \"121\"\n", 3, "cards.facility", "[121, 122]"},
		{"no facility of several", "[[cards]]\nformat = \"26-8-16\"\nfacility = []\n", 3, "cards.facility",
			"the list is empty"},
		{"one facility twice", "[[cards]]\nformat = \"26-8-16\"\nfacility = [3, 3]\n", 3, "cards.facility",
			"3 is there twice"},
		{"no block", "[[cards]]\nformat = \"26-8-16\"\nnumbers = \"\"\n", 3, "cards.numbers", `"" is no block of numbers`},
		{"blocks that are a number", "[[cards]]\nformat = \"26-8-16\"\nnumbers = 5\n", 3, "cards.numbers",
			"is of type integer; write a text in quotes"},
		{"capacity in quotes", "[[doors]]\nname = \"a\"\ncapacity = \"5\"\n", 3, "doors.capacity",
			"is of type string; write a whole number"},
		{"facility of eight bits", "[[cards]]\nformat = \"26-8-16\"\nfacility = 256\n", 3, "cards.facility", "0 to 255"},
		{"one facility of two is wrong", "[[cards]]\nformat = \"26-8-16\"\nfacility = [3, -1]\n", 3, "cards.facility",
			"-1 is no facility"},
		{"facility where there is none", "[[cards]]\nformat = \"26-0-24\"\nfacility = 1\n", 3, "cards.facility",
			"no facility field"},
		{"no such format", "[[cards]]\nfacility = 1\nformat = \"26-8-61\"\n", 3, "cards.format", "nearest: 26-8-16"},
		{"no format", "# cards\n[[cards]]\nfacility = 1\n", 2, "cards.format", "no format"},
		{"block backwards", "[[cards]]\nformat = \"26-8-16\"\nnumbers = \"500-1\"\n", 3, "cards.numbers", "write 1-500"},
		{"block of words", "[[cards]]\nformat = \"26-8-16\"\nnumbers = \"1-5, all\"\n", 3, "cards.numbers",
			`"all" is no block`},
		{"blocks that overlap in a row", "[[cards]]\nformat = \"26-8-16\"\nnumbers = \"1-5, 5\"\n", 3, "cards.numbers",
			"1-5 and 5 overlap"},
		{"number of 16 bits", "[[cards]]\nformat = \"26-8-16\"\nnumbers = \"1-65536\"\n", 3, "cards.numbers", "0 to 65535"},
		{"lots of one form without blocks", "[[cards]]\nformat = \"26-8-16\"\nprinted = \"pair\"\n[[cards]]\nformat = \"26-8-16\"\nprinted = \"pair\"\n",
			4, "cards.numbers", "overlap"},
		{"lots that overlap", "[[cards]]\nformat = \"26-8-16\"\nfacility = 3\nnumbers = \"1-10\"\n[[cards]]\nformat = \"26-8-16\"\nfacility = [4, 3]\nnumbers = \"10-20\"\n",
			8, "cards.numbers", "line 2"},
		{"no such form", "[[cards]]\nformat = \"26-8-16\"\nprinted = \"pairs\"\n", 3, "cards.printed", "nearest: pair"},
		{"form that the format lacks", "[[cards]]\nformat = \"26-8-16\"\nprinted = \"uid\"\n", 3, "cards.printed",
			"chip serial"},
		{"form that no card has", "[[cards]]\nformat = \"26-0-24\"\n[[doors]]\nname = \"a\"\nenter = \"pair\"\n", 5,
			"doors.enter", "beside its number"},
		{"door without a name", "[[doors]]\nenter = \"pair\"\n", 1, "doors.name", "no name"},
		{"two doors of one name", "[[doors]]\nname = \"Stair\"\n[[doors]]\nname = \"stair\"\n", 4, "doors.name", "line 2"},
		{"cards are a number", "name = \"x\"\ncards = 3\n", 2, "cards",
			"is of type integer; write tables, each in braces or begun with [[cards]]"},
		{"capacity is a text, and what would do", "[[doors]]\nname = \"a\"\ncapacity = \"many\"\n", 3, "doors.capacity",
			"write a whole number"},
		{"format is a number", "[[cards]]\nformat = 3\n", 2, "cards.format", "write a text in quotes"},
		{"cards in one line", "name = \"x\"\n\ncards = [{ format = \"26-8-16\" }, { format = \"26-8-61\" }]\n", 3,
			"cards.format", "nearest: 26-8-16"},
		{"cards in a table of tables", "[cards.x]\nformat = \"26-8-16\"\n", 1, "cards.x", "no such key"},
		{"a table for doors and one mistake", "[doors]\nname = \"a\"\ncapacity = 0\n", 3, "doors.capacity", "leave it out"},
		{"blocks of signs", "[[cards]]\nformat = \"track2\"\nnumbers = \"1-4\"\n", 3, "cards.numbers",
			"no card number to give blocks of"},
		{"blocks of a format without number", "[[cards]]\nformat = \"fascn-200\"\nnumbers = \"1-4\"\n", 3, "cards.numbers",
			"no card number"},
		{"no form of that name at a door", "[[cards]]\nformat = \"26-8-16\"\n[[doors]]\nname = \"a\"\nenter = \"pears\"\n", 5,
			"doors.enter", "nearest: pair"},
		{"more lots than any site has", strings.Repeat("[[doors]]\n", 5000), 0, "", "5000 tables of one kind"},
		{"a file larger than any", "# " + strings.Repeat("x", MaxSize), 0, "", "a site file has at most 1048576"},
		{"not TOML", "name = \"x\"\n[[doors\n", 2, "", ""},
		{"a key twice", "name = \"x\"\nname = \"y\"\n", 2, "", ""},
		{"nothing", "# nothing\n", 0, "", "no cards and no doors"},
	}
	cat := formats.Builtin()
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			_, err := Parse("s.toml", []byte(tt.text), cat)
			var e *Error
			require.ErrorAs(t, err, &e)
			assert.Equal(t, tt.line, e.Line, "%v", err)
			if tt.key != "" {
				assert.Equal(t, tt.key, e.Key, "%v", err)
			}
			assert.Contains(t, e.Reason, tt.says)
			assert.NotContains(t, err.Error(), "\n")
			prefix := "s.toml: "
			if tt.line > 0 {
				prefix = fmt.Sprintf("s.toml:%d: ", tt.line)
			}
			assert.True(t, strings.HasPrefix(err.Error(), prefix), err.Error())
		})
	}
}

func TestSeparateLotsDoNotOverlap(t *testing.T) {
	for name, text := range map[string]string{
		"other facility": "[[cards]]\nformat = \"26-8-16\"\nfacility = 3\n[[cards]]\nformat = \"26-8-16\"\nfacility = 4\n",
		"other format":   "[[cards]]\nformat = \"26-8-16\"\n[[cards]]\nformat = \"26-0-24\"\n",
		"other form":     "[[cards]]\nformat = \"26-8-16\"\nprinted = \"pair\"\n[[cards]]\nformat = \"26-8-16\"\nprinted = \"hex\"\n",
		"other block":    "[[cards]]\nformat = \"26-8-16\"\nnumbers = \"1-3, 9\"\n[[cards]]\nformat = \"26-8-16\"\nnumbers = \"4-8, 10-11\"\n",
	} {
		_, err := Parse("s.toml", []byte(text), formats.Builtin())
		assert.NoError(t, err, name)
	}
}

func TestWhatBelongs(t *testing.T) {
	p := formats.Population{Facilities: []uint64{3, 5}, Numbers: []formats.Range{{First: 10, Last: 20},
		{First: 30, Last: 30}, {First: 40, Last: 50}}}
	for n := range uint64(60) {
		want := n >= 10 && n <= 20 || n == 30 || n >= 40 && n <= 50
		assert.Equal(t, want, p.HasNumber(n), "%d", n)
	}
	assert.True(t, p.HasFacility(5))
	assert.False(t, p.HasFacility(4))
	f := formats.Builtin().Find("26-8-16")[0]
	p.Format = f.ID
	for fields, want := range map[string]bool{"facility=5 number=10": true, "facility=4 number=10": false,
		"facility=5 number=9": false, "number=10": true, "number=9": false, "facility=3": true, "facility=4": false} {
		form, _ := formats.FormByName("fields")
		c, err := form.Parse(f, fields)
		require.NoError(t, err)
		assert.Equal(t, want, p.Belongs(&c), "what is not known is not wrong: %s", fields)
	}
	s := Site{Cards: []formats.Population{{Format: "a", Facilities: []uint64{9, 1}}, {Format: "b"},
		{Format: "a", Facilities: []uint64{1}}}}
	got, all := s.Facilities("a")
	assert.Equal(t, []uint64{1, 9}, got)
	assert.True(t, all)
	_, all = s.Facilities("b")
	assert.False(t, all)
	assert.Equal(t, []string{"a", "b"}, s.Formats())
}

func TestDoorByName(t *testing.T) {
	s := Site{Doors: []Door{{Name: "North stair"}, {Name: "South stair"}}}
	d, err := s.Door("south STAIR")
	require.NoError(t, err)
	assert.Equal(t, "South stair", d.Name)
	_, err = s.Door("South star")
	assert.ErrorContains(t, err, `no such door; there are "South stair", "North stair"`)
	_, err = Site{}.Door("x")
	assert.ErrorContains(t, err, "no doors")
}

// Whatever is read is written so that it reads back the same; every error is an *Error on one line.
func FuzzParse(f *testing.F) {
	f.Add([]byte(Starter))                                           // the starter
	f.Add([]byte("[[cards]]\nformat=\"26-8-16\"\nfacility=[1,[2]]")) // a list in a list
	f.Add([]byte("cards=[{format=\"26-8-16\"}]"))                    // tables written in one line
	f.Add([]byte("[cards.x]\nformat=\"26-8-16\""))                   // a table where there is a list of tables
	f.Add([]byte("\xef\xbb\xbf[[doors]]\nname=\"\"\"a\nb\"\"\""))    // a byte order mark, and a name of two lines
	f.Add([]byte("[[doors]]\nname='\x00'"))                          // a control character
	cat := formats.Builtin()
	f.Fuzz(func(t *testing.T, text []byte) {
		s, err := Parse("f", text, cat)
		if err != nil {
			var e *Error
			require.ErrorAs(t, err, &e)
			return
		}
		again, err := Parse("f", s.Append(nil), cat)
		require.NoError(t, err)
		for i := range s.Cards {
			s.Cards[i].Line, again.Cards[i].Line = 0, 0
		}
		for i := range s.Doors {
			s.Doors[i].Line, again.Doors[i].Line = 0, 0
		}
		require.Equal(t, s, again)
	})
}

// A door named all could not be told from every door.
func TestNoDoorIsCalledAll(t *testing.T) {
	_, err := Parse("site.toml", []byte("[[doors]]\nname = \"All\"\n"), formats.Builtin())
	assert.EqualError(t, err, `site.toml:2: doors.name: "All" is what all doors together are called; give this one another name`)
}

// A door that shows what is printed has that form, also where the form leaves something out.
func TestFormThatLeavesOutTheSame(t *testing.T) {
	s := Site{Cards: []formats.Population{{Format: "34-0-32", Printed: "pair24",
		Numbers: []formats.Range{{First: 4000, Last: 5000}}}}}
	forms := s.FormsShown(formats.Builtin(), Shown{Card: "000,04645", Door: "000,04645"},
		Shown{Card: "000,04739", Door: "000,04739"})
	require.NotEmpty(t, forms)
	assert.Equal(t, "pair24", forms[0].Form)
	assert.Greater(t, forms[0].Probability, 0.98)
	forms = Site{Cards: []formats.Population{{Format: "34-0-32", Printed: "pair24"}}}.FormsShown(formats.Builtin(),
		Shown{Card: "171,04645", Door: "171,04645"})
	require.NotEmpty(t, forms)
	assert.Equal(t, "pair24", forms[0].Form)
	forms = s.FormsShown(formats.Builtin(), Shown{Card: "000,04645", Door: "00000,04645"})
	require.NotEmpty(t, forms)
	assert.Equal(t, "words", forms[0].Form)
}

// Two examples can be of two kinds of card.
func TestExamplesOfTwoKinds(t *testing.T) {
	s := Site{Cards: []formats.Population{
		{Format: "32-10-20", Printed: "pair", Facilities: []uint64{22}},
		{Format: "34-0-32", Printed: "pair24", Numbers: []formats.Range{{First: 44, Last: 293}}},
		{Format: "26-8-16", Printed: "pair", Facilities: []uint64{105}},
	}}
	first := Shown{Card: "0022,0000063", Door: "0022,0000063"}
	forms := s.FormsShown(formats.Builtin(), first, Shown{Card: "105,53446", Door: "105,53446"})
	require.NotEmpty(t, forms)
	assert.Equal(t, "pair", forms[0].Form)
	assert.Greater(t, forms[0].Probability, 0.9)
	assert.Equal(t, "32-10-20", forms[0].Format)
	assert.Empty(t, s.FormsShown(formats.Builtin(), first, Shown{Card: "105,53446", Door: "1"}))
}
