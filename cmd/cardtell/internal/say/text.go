// Package say has what every report of the program needs to speak to people: lines of a width, counts, probabilities,
// errors on one line, and answers that fit a screen.
package say

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"unicode/utf8"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/picture"
)

// Width is that of text which goes to no terminal, in columns: it never changes, so that scripts and tests can rely on
// it.
const Width = 80

// Surely is the probability above which one result stands alone.
const Surely = 0.99

// Wrap breaks text into lines of at most width columns. A word that is longer stays whole: it may be a number. A
// percent sign stays with the number before it. What would steer a terminal shows as U+FFFD: names and descriptions
// come from files of others.
func Wrap(text string, width int) []string {
	var lines []string
	line := ""
	const together = "\x00" // which no clean text has
	for _, word := range strings.Split(strings.ReplaceAll(picture.Clean(text), " %", together+"%"), " ") {
		word = strings.ReplaceAll(word, together, " ")
		switch {
		case line == "":
			line = word
		case utf8.RuneCountInString(line)+1+utf8.RuneCountInString(word) <= width:
			line += " " + word
		default:
			lines, line = append(lines, strings.TrimRight(line, " ")), word
		}
	}
	return append(lines, line)
}

// Hang breaks text into lines of at most width columns, of which the first begins with lead and the others with as many
// spaces.
func Hang(lead, text string, width int) []string {
	n := utf8.RuneCountInString(lead)
	lines := Wrap(text, width-n)
	for i := range lines {
		lines[i] = lead + lines[i]
		lead = strings.Repeat(" ", n)
	}
	return lines
}

// Print writes text as [Hang] breaks it, in the width of what goes to no terminal.
func Print(w io.Writer, lead, text string) {
	fmt.Fprintln(w, strings.Join(Hang(lead, text, Width), "\n"))
}

// Clip shortens text to width columns, with an ellipsis where something is left out.
func Clip(text string, width int) string {
	if utf8.RuneCountInString(text) <= width || width < 2 {
		return text
	}
	runes := []rune(text)
	return strings.TrimRight(string(runes[:width-1]), " ") + "…"
}

// Count is a number and what it is of, which gets an s where it is not one.
func Count(n int, what string) string { return Counts(n, what, what+"s") }

// Counts is Count for what has another plural.
func Counts(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return strconv.Itoa(n) + " " + many
}

// Few names the first ones of many.
func Few(all []string, most int) string {
	text := strings.Join(all[:min(most, len(all))], ", ")
	if n := len(all) - most; n > 0 {
		text += fmt.Sprintf(" and %d more", n)
	}
	return text
}

// Percent is a probability in seven columns, where nothing is 0 or 100.
func Percent(p float64) string { return string(AppendPercent(nil, p)) }

// Chance is a probability as it stands in a sentence.
func Chance(p float64) string { return strings.TrimSpace(Percent(p)) }

// AppendPercent appends what Percent gives.
func AppendPercent(dst []byte, p float64) []byte {
	switch {
	case p < 0.0005:
		return append(dst, " <0.1 %"...)
	case p >= 0.9995:
		return append(dst, ">99.9 %"...)
	}
	var digits [8]byte
	return append(AppendRight(dst, strconv.AppendFloat(digits[:0], 100*p, 'f', 1, 64), 5), " %"...)
}

// AppendRight appends text with spaces before it up to width columns.
func AppendRight(dst, text []byte, width int) []byte {
	for n := len(text); n < width; n++ {
		dst = append(dst, ' ')
	}
	return append(dst, text...)
}

// Error is an error's text on one line, so that a script can read it line by line, and with nothing that would steer a
// terminal: it repeats names of files and what is in them.
func Error(err error) string {
	text := err.Error()
	if path, ok := errors.AsType[*fs.PathError](err); ok {
		text = strings.Replace(text, path.Error(), fileError(path), 1)
	}
	return picture.Clean(strings.Join(strings.Fields(text), " "))
}

func missing(name string) bool {
	_, err := os.Stat(name)
	return errors.Is(err, fs.ErrNotExist)
}

// fileError says what is wrong with a file as other errors do: where, what, and what would do.
func fileError(err *fs.PathError) string {
	words := fmt.Sprintf("%s: %v", err.Path, err.Err)
	switch folder := filepath.Dir(err.Path); {
	case errors.Is(err, fs.ErrNotExist) && missing(folder):
		words = fmt.Sprintf("%s: there is no folder %s; is the name right?", err.Path, folder)
	case errors.Is(err, fs.ErrNotExist):
		words += "; is the name right?"
	case errors.Is(err, fs.ErrPermission) && err.Op == "write":
		words += "; ask its owner, or write elsewhere"
	case errors.Is(err, fs.ErrPermission):
		words += "; ask its owner"
	}
	return words
}
