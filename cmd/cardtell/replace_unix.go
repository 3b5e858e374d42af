//go:build !windows

package main

import (
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"

	"github.com/google/renameio/v2"
)

// replaceFile writes a file so that its name has either the old content or all of the new: it is written beside its
// place, brought to the disk, and renamed. A new file can be read by its owner alone, since it may hold card numbers.
// An error of write is returned as it is, any other as an *fs.PathError.
func replaceFile(name string, write func(io.Writer) error) error {
	f, err := renameio.NewPendingFile(name, renameio.WithTempDir(filepath.Dir(name)), renameio.WithPermissions(0o600),
		renameio.WithExistingPermissions())
	if err != nil {
		return pathError(name, err)
	}
	defer f.Cleanup()
	if err := write(f); err != nil {
		return err
	}
	if err := f.CloseAtomicallyReplace(); err != nil {
		return pathError(name, err)
	}
	// Bring the new name to the disk as well. Some file systems cannot, which is no failure of the writing.
	if d, err := os.Open(filepath.Dir(name)); err == nil {
		_ = d.Sync()
		_ = d.Close()
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
