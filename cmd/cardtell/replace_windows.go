package main

import (
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"
)

// replaceFile writes a file so that its name has either the old content or all of the new: it is written beside its
// place, brought to the disk, and renamed. An error of write is returned as it is, any other as an *fs.PathError.
func replaceFile(name string, write func(io.Writer) error) (err error) {
	f, err := os.CreateTemp(filepath.Dir(name), "."+filepath.Base(name)+"-*")
	if err != nil {
		return pathError(name, err)
	}
	defer func() {
		if err != nil {
			_ = f.Close()
			_ = os.Remove(f.Name())
		}
	}()
	if err := write(f); err != nil {
		return err
	}
	if err := f.Sync(); err != nil {
		return pathError(name, err)
	}
	if err := f.Close(); err != nil {
		return pathError(name, err)
	}
	if err := os.Rename(f.Name(), name); err != nil {
		return pathError(name, err)
	}
	return nil
}

// pathError says that a file could not be written, by its own name, not by that of the file beside it.
func pathError(name string, err error) error {
	var p *fs.PathError
	var l *os.LinkError
	switch {
	case errors.As(err, &p):
		err = p.Err
	case errors.As(err, &l):
		err = l.Err
	}
	return &fs.PathError{Op: "write", Path: name, Err: err}
}
