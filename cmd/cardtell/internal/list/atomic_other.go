//go:build !linux

package list

import "os"

func unnamed(target string) (f *os.File, temp string, err error) { return named(target) }

func (f *File) stage(to string) error {
	if err := f.f.Close(); err != nil { // Windows renames no open file
		return err
	}
	return f.rename(to)
}

func beginFlush(*os.File, int64, int64) {}

// syncFolder does nothing: a folder can't be synced on every system.
func syncFolder(string) error { return nil }
