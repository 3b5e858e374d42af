package main

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"strings"

	"golang.org/x/text/encoding/unicode"
	"golang.org/x/text/transform"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/list"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/say"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/typed"
)

// maxLine is the longest line of a file of cards, in bytes: a read of 256 bits with separators, a print and a serial
// take less.
const maxLine = 4096

// open opens a file for reading, or standard input for "-".
func (a *app) open(name string) (io.ReadCloser, error) {
	switch {
	case name == "-" && a.stdin != nil:
		return io.NopCloser(a.stdin.Reader()), nil
	case name == "-":
		return io.NopCloser(a.in), nil
	}
	f, _, err := a.openFile(name)
	return f, err
}

// keepInput keeps what is read of standard input, so that it can be read again.
func (a *app) keepInput() {
	if a.stdin == nil {
		a.stdin = list.NewReplay(a.in)
	}
}

// openFile opens a file for reading, which no output may take the place of from then on.
func (a *app) openFile(name string) (*os.File, fs.FileInfo, error) {
	f, err := os.Open(name)
	if err != nil {
		return nil, nil, err
	}
	info, err := f.Stat()
	if err == nil && info.IsDir() {
		err = &os.PathError{Op: "read", Path: name, Err: errors.New("is a folder; name a file in it")}
	}
	if err != nil {
		return nil, nil, errors.Join(err, f.Close())
	}
	a.inputs = append(a.inputs, info)
	return f, info, nil
}

// source is a file as messages name it.
func source(name string) string {
	if name == "-" {
		return "standard input"
	}
	return name
}

// lines calls use for each line of a file that has something on it: blank lines and those that begin with # are
// skipped, white space around a line is taken off. Lines are numbered from 1, all of them counted.
func (a *app) lines(name string, use func(line int, text string) error) error {
	f, err := a.open(name)
	if err != nil {
		return err
	}
	defer f.Close()
	s := bufio.NewScanner(transform.NewReader(f, unicode.BOMOverride(transform.Nop))) // UTF-16 says so with a mark
	s.Buffer(make([]byte, 0, maxLine), maxLine)
	n := 0
	for s.Scan() {
		n++
		text := strings.TrimSpace(s.Text())
		if text == "" || text[0] == '#' {
			continue
		}
		if err := use(n, text); err != nil {
			return err
		}
	}
	if errors.Is(s.Err(), bufio.ErrTooLong) {
		return fmt.Errorf("%s:%d: a line of more than %d bytes; one card is shorter than that", source(name), n+1, maxLine)
	}
	return s.Err()
}

// rows is lines, to which the rows of a spreadsheet come with tabs between their cells.
func (a *app) rows(name string, use func(line int, text string) error) error {
	if !list.IsSheet(name) {
		return a.lines(name, use)
	}
	r, err := list.Open(name, list.Options{})
	if err != nil {
		return err
	}
	defer r.Close()
	a.inputs = append(a.inputs, r.Info())
	for {
		row, err := r.Next()
		switch {
		case errors.Is(err, io.EOF):
			return nil
		case err != nil:
			return err
		case row.Kind != list.Data:
			continue
		}
		if err := use(row.Line, strings.Join(row.Texts(), "\t")); err != nil {
			return err
		}
	}
}

// cardLines calls use for each card of a file: of a line with more on it, such as one of a panel's log, for the card in
// it. The first line can be the heads of columns, which say where the card stands. Heads, and lines with a time and no
// card, are passed over, which is said; a line that can't be read is used as it is, so that its error is told. Where
// they are secret no card is shown.
func (a *app) cardLines(name string, secret bool, use func(line int, text string) error) error {
	var l typed.Lines
	err := a.rows(name, func(line int, text string) error {
		card, pass, err := l.Card(line, text)
		switch {
		case err != nil:
			return fmt.Errorf("%s:%d: %w", source(name), line, err)
		case pass:
			return nil
		}
		return use(line, card)
	})
	if err != nil {
		return err
	}
	if lines := say.Counts(l.Taken, "line had more on it", "lines had more on them"); l.Taken > 0 && secret {
		a.remark("%s: %s than a card, which was taken out", source(name), lines)
	} else if l.Taken > 0 {
		a.remark("%s: %s than a card, of which this was taken: %s%s; see that it is the card", source(name), lines, l.First,
			map[bool]string{true: ", and so on"}[l.Taken > 1])
	}
	if len(l.Passed) > 0 {
		a.remark("%s: passed over as headings, or as having no card: %s", source(name), lineList(l.Passed))
	}
	return nil
}

// lineList names lines of a file, the first few of many.
func lineList(lines []int) string {
	const most = 8
	text := strings.Trim(strings.ReplaceAll(fmt.Sprint(lines[:min(most, len(lines))]), " ", ", "), "[]")
	what := map[bool]string{true: "line ", false: "lines "}[len(lines) == 1]
	if n := len(lines) - most; n > 0 {
		text += fmt.Sprintf(" and %d more", n)
	}
	return what + text
}
