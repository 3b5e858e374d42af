//go:build !linux

package list

import (
	"os"
)

func unnamed(dir, base string) (f *os.File, temp string, err error) { return named(dir, base) }

func (f *File) place() error {
	if err := f.f.Close(); err != nil { // Windows renames no open file
		return err
	}
	return os.Rename(f.temp, f.target)
}

// syncFolder does nothing: a folder can't be synced on every system.
func syncFolder(string) error { return nil }
