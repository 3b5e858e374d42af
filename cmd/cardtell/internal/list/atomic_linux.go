package list

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"golang.org/x/sys/unix"
)

// unnamed opens a file that has no name, so that it is gone when the process is. Where the file system has no such files, or
// there is no /proc by which to give it one later, it has a name, temp.
func unnamed(dir, base string) (f *os.File, temp string, err error) {
	if _, err := os.Stat("/proc/self/fd"); err != nil {
		return named(dir, base)
	}
	fd, err := unix.Open(dir, unix.O_TMPFILE|unix.O_WRONLY|unix.O_CLOEXEC, 0o600)
	if err == nil {
		return os.NewFile(uintptr(fd), filepath.Join(dir, base)), "", nil
	}
	if !errors.Is(err, unix.EOPNOTSUPP) && !errors.Is(err, unix.EISDIR) && !errors.Is(err, unix.EINVAL) {
		return nil, "", &fs.PathError{Op: "write", Path: filepath.Join(dir, base), Err: err}
	}
	return named(dir, base)
}

// place gives the file its name. A file without one is linked to a name beside the target first, since a link takes no
// other file's place.
func (f *File) place() error {
	if f.temp == "" {
		temp := hidden(filepath.Dir(f.target), filepath.Base(f.target))
		from := fmt.Sprintf("/proc/self/fd/%d", f.f.Fd())
		err := unix.Linkat(unix.AT_FDCWD, from, unix.AT_FDCWD, temp, unix.AT_SYMLINK_FOLLOW)
		if errors.Is(err, unix.EEXIST) {
			if err := os.Remove(temp); err != nil {
				return err
			}
			err = unix.Linkat(unix.AT_FDCWD, from, unix.AT_FDCWD, temp, unix.AT_SYMLINK_FOLLOW)
		}
		if err != nil {
			return &fs.PathError{Op: "link", Path: temp, Err: err}
		}
		f.temp = temp
	}
	return os.Rename(f.temp, f.target)
}

// syncFolder makes the new name last through a loss of power. A file system that can't is left alone.
func syncFolder(dir string) error {
	d, err := os.Open(dir)
	if err != nil {
		return err
	}
	defer d.Close()
	if err := d.Sync(); err != nil && !errors.Is(err, unix.EINVAL) && !errors.Is(err, unix.ENOTSUP) {
		return err
	}
	return nil
}
