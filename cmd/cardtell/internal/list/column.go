package list

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"unicode"

	"github.com/cardtell/cardtell/formats/near"
)

// FindColumn returns the position of a column that a person names: by what its head says (upper and lower case and
// white space around it alike), by its letter as in a spreadsheet (B), or by its number from 1. A name comes first: a
// column called C is meant by C, and [Shadowed] says so; name:, letter: or number: before it settles which. heads are
// the cells of the first row.
func FindColumn(heads []string, want string) (int, error) {
	kind, text, prefixed := strings.Cut(want, ":")
	if !prefixed || kind != "name" && kind != "letter" && kind != "number" {
		kind, text = "", want
	}
	if kind == "" || kind == "name" {
		if named, err := byName(heads, text); err != nil || named >= 0 {
			return named, err
		}
	}
	switch place, isPlace := byPlace(text, kind); {
	case kind == "name" || !isPlace:
	case place < len(heads):
		return place, nil
	default:
		return 0, fmt.Errorf("column %q: no such column; the list has %s: %s", cutShort(text), counted(len(heads), "column"),
			strings.Join(quoteAll(heads), ", "))
	}
	return 0, fmt.Errorf("column %q: no such column; there are %s", cutShort(text), near.List(strconv.Quote(text),
		quoteAll(heads), 12))
}

// Shadowed says that a column was taken by its name that another one has as its letter or number; "" where there is no
// such other one.
func Shadowed(heads []string, want string) string {
	named, err := byName(heads, want)
	place, isPlace := byPlace(want, "")
	if err != nil || named < 0 || !isPlace || place == named || place >= len(heads) {
		return ""
	}
	return fmt.Sprintf("column %q is the one of that name, the %s; %s:%s is the %s", want, ordinal(named+1),
		placeKind(want), want, ordinal(place+1))
}

// CardColumns returns the columns that by their heads hold card numbers.
func CardColumns(heads []string) (found []int) {
	for i, h := range heads {
		words := strings.FieldsFunc(strings.ToLower(h), func(r rune) bool { return !unicode.IsLetter(r) })
		is := func(list []string) bool {
			return slices.ContainsFunc(words, func(w string) bool { return slices.Contains(list, w) })
		}
		if is(cardWords) && !is(otherWords) {
			found = append(found, i)
		}
	}
	return found
}

// cardWords are what a column of card numbers is called by, in the languages of offices, and otherWords what such a
// head must not say besides.
var (
	cardWords = strings.Fields("card cards badge badges fob tag rfid credential cardnumber cardno " +
		"keycard keycards fobs credential credentials карта карты " +
		"karte karten kartennummer kartennr ausweis ausweisnummer ausweisnr transponder carte cartes tarjeta tarjetas " +
		"tessera tessere cartão cartao kaart kaartnummer kaartnr kort kortnummer kortnr karta karty kártya kortti")
	otherWords = strings.Fields("holder type status state date name format count valid reader " +
		"inhaber typ datum titulaire nom titular nombre tipo estado fecha titolare stato stav stan")
)

// nameWords are what a column of cardholders' names is called by, alone or several together, in the same languages.
var nameWords = strings.Fields("name names full first given last family forename surname cardholder holder employee " +
	"person user member " +
	"vorname nachname familienname mitarbeiter mitarbeiterin inhaber karteninhaber nom prénom prenom titulaire nombre " +
	"apellido apellidos titular nome cognome sobrenome titolare naam voornaam achternaam navn fornavn etternavn " +
	"efternavn namn förnamn efternamn nimi etunimi sukunimi imię imie nazwisko jméno jmeno příjmení prijmeni név")

// IsName reports whether a column by its head holds the names of cardholders.
func IsName(head string) bool {
	words := strings.FieldsFunc(strings.ToLower(head), func(r rune) bool { return !unicode.IsLetter(r) })
	if slices.Equal(words, []string{"card", "holder"}) {
		return true
	}
	return len(words) > 0 && !slices.ContainsFunc(words, func(w string) bool { return !slices.Contains(nameWords, w) })
}

// IsFacility reports whether a column by its head holds the facilities of cards.
func IsFacility(head string) bool {
	words := strings.Fields(strings.ToLower(strings.NewReplacer("_", " ", "-", " ", ".", " ").Replace(head)))
	return slices.Contains(words, "facility") || slices.Contains(words, "fc") ||
		len(words) == 2 && words[0] == "site" && words[1] == "code"
}

// IsNumber reports whether the head of a column is no name but a card number: nothing but digits and what stands
// between them, three digits or more, or six hex digits or more.
func IsNumber(head string) bool {
	digits, hex, other := 0, 0, 0
	for _, c := range strings.TrimSpace(head) {
		switch {
		case '0' <= c && c <= '9':
			digits++
		case 'a' <= c && c <= 'f' || 'A' <= c && c <= 'F':
			hex++
		case !strings.ContainsRune(" ,;:/.-'=\"", c):
			other++
		}
	}
	return other == 0 && (hex == 0 && digits >= 3 || digits >= 2 && digits+hex >= 6)
}

// CardColumn returns the position of the one column that by its head holds card numbers, or of the only column. The
// error is where there is none, or more than one.
func CardColumn(heads []string) (int, error) {
	if len(heads) == 1 {
		return 0, nil
	}
	found := CardColumns(heads)
	if len(found) == 1 {
		return found[0], nil
	}
	what := "no heading says which column has the card numbers"
	if len(found) > 1 {
		what = fmt.Sprintf("%d columns can have the card numbers", len(found))
	}
	if i := slices.IndexFunc(heads, IsNumber); i >= 0 {
		return 0, fmt.Errorf("--column: %s; %q in the first row looks like a card: --no-header --column %d if it is one",
			what,
			cutShort(heads[i]), i+1)
	}
	return 0, fmt.Errorf("--column: %s; name it by its heading, letter or number: there are %s", what,
		strings.Join(quoteAll(heads), ", "))
}

// byName returns the column with that head, -1 where there is none. The error is for two of them.
func byName(heads []string, want string) (int, error) {
	found := -1
	for i, h := range heads {
		if !strings.EqualFold(strings.TrimSpace(h), strings.TrimSpace(want)) {
			continue
		}
		if found >= 0 {
			return 0, fmt.Errorf("column %q: there are two of that name, %s and %s; write number:%d or number:%d",
				cutShort(want), Letters(found), Letters(i), found+1, i+1)
		}
		found = i
	}
	return found, nil
}

// byPlace reads a column's number from 1, or its letters: A to Z, AA and so on.
func byPlace(text, kind string) (int, bool) {
	if n, err := strconv.Atoi(text); err == nil {
		return n - 1, n >= 1 && kind != "letter"
	}
	n := 0
	for _, c := range strings.ToUpper(text) {
		if c < 'A' || c > 'Z' || n > 1000 {
			return 0, false
		}
		n = 26*n + int(c-'A') + 1
	}
	return n - 1, len(text) > 0 && len(text) <= 3 && kind != "number"
}

func placeKind(text string) string {
	if _, err := strconv.Atoi(text); err == nil {
		return "number"
	}
	return "letter"
}

// Letters returns a column's letters, as a spreadsheet has them.
func Letters(i int) string {
	s := ""
	for i++; i > 0; i = (i - 1) / 26 {
		s = string(rune('A'+(i-1)%26)) + s
	}
	return s
}

func ordinal(n int) string {
	suffix := "th"
	switch {
	case n%100 >= 11 && n%100 <= 13:
	case n%10 == 1:
		suffix = "st"
	case n%10 == 2:
		suffix = "nd"
	case n%10 == 3:
		suffix = "rd"
	}
	return strconv.Itoa(n) + suffix + " column"
}

func counted(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}

func quoteAll(heads []string) []string {
	all := make([]string, len(heads))
	for i, h := range heads {
		all[i] = strconv.Quote(cutShort(h))
	}
	return all
}
