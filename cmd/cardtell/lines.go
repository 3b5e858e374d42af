package main

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"
)

// maxLine is the longest line of a file of cards, in bytes: a read of 256 bits with separators, a print and a serial
// take less.
const maxLine = 4096

// open opens a file for reading, or standard input for "-".
func (a *app) open(name string) (io.ReadCloser, error) {
	if name == "-" {
		return io.NopCloser(a.in), nil
	}
	f, err := os.Open(name)
	if err != nil {
		return nil, err
	}
	if info, err := f.Stat(); err == nil {
		if info.IsDir() {
			f.Close()
			return nil, &os.PathError{Op: "read", Path: name, Err: errors.New("is a folder; name a file in it")}
		}
		a.inputs = append(a.inputs, info)
	}
	return f, nil
}

// lines calls use for each line of a file that has something on it: blank lines and those that begin with # are
// skipped, white space around a line is taken off. Lines are numbered from 1, all of them counted.
func (a *app) lines(name string, use func(line int, text string) error) error {
	f, err := a.open(name)
	if err != nil {
		return err
	}
	defer f.Close()
	s := bufio.NewScanner(f)
	s.Buffer(make([]byte, 0, maxLine), maxLine)
	n := 0
	for s.Scan() {
		n++
		text := strings.TrimSpace(s.Text())
		if n == 1 {
			text = strings.TrimPrefix(text, "\ufeff")
		}
		if text == "" || text[0] == '#' {
			continue
		}
		if err := use(n, text); err != nil {
			return err
		}
	}
	if errors.Is(s.Err(), bufio.ErrTooLong) {
		return fmt.Errorf("%s:%d: a line of more than %d bytes; one card is shorter than that", name, n+1, maxLine)
	}
	return s.Err()
}
