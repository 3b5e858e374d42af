package main

import (
	"errors"
	"io"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/list"
)

// replaceFile writes a file so that its name has either the old content or all of the new: see [list.File]. An error of write is
// returned as it is, any other as an *fs.PathError.
func replaceFile(name string, write func(io.Writer) error) error {
	f, err := list.NewFile(name)
	if err != nil {
		return err
	}
	if err := write(f); err != nil {
		return errors.Join(err, f.Abort())
	}
	return f.Commit()
}

// replaceText is replaceFile for a text that is ready.
func replaceText(name string, text []byte) error {
	return replaceFile(name, func(w io.Writer) error { _, err := w.Write(text); return err })
}
