package main

import (
	"errors"
	"io"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/list"
)

// replaceFile writes a file so that its name has either the old content or all of the new: see [list.File]. An error of
// write is returned as it is; a file that was read is refused with a [*list.Error]; any other error is an
// *fs.PathError.
func (a *app) replaceFile(name string, write func(io.Writer) error) error {
	f, err := list.NewFile(name, a.inputs...)
	if err != nil {
		return err
	}
	if err := write(f); err != nil {
		return errors.Join(err, f.Abort())
	}
	return f.Commit()
}

// replaceText is replaceFile for a text that is ready.
func (a *app) replaceText(name string, text []byte) error {
	return a.replaceFile(name, func(w io.Writer) error { _, err := w.Write(text); return err })
}
