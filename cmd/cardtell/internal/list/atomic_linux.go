package list

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"golang.org/x/sys/unix"
)

// unnamed opens a file that has no name, so that it is gone when the process is. Where the file system has no such
// files, or there is no /proc by which to give it one later, it has a name, temp.
func unnamed(target string) (f *os.File, temp string, err error) {
	if _, err := os.Stat("/proc/self/fd"); err != nil {
		return named(target)
	}
	fd, err := unix.Open(filepath.Dir(target), unix.O_TMPFILE|unix.O_WRONLY|unix.O_CLOEXEC, 0o600)
	if err == nil {
		return os.NewFile(uintptr(fd), target), "", nil
	}
	if !errors.Is(err, unix.EOPNOTSUPP) && !errors.Is(err, unix.EISDIR) && !errors.Is(err, unix.EINVAL) {
		return nil, "", &fs.PathError{Op: "write", Path: target, Err: err}
	}
	return named(target)
}

// stage gives the file the name to, which takes no other file's place where it had none before.
func (f *File) stage(to string) error {
	if f.temp != "" {
		return f.rename(to)
	}
	from := fmt.Sprintf("/proc/self/fd/%d", f.f.Fd())
	err := unix.Linkat(unix.AT_FDCWD, from, unix.AT_FDCWD, to, unix.AT_SYMLINK_FOLLOW)
	if errors.Is(err, unix.EEXIST) {
		if err := os.Remove(to); err != nil {
			return err
		}
		err = unix.Linkat(unix.AT_FDCWD, from, unix.AT_FDCWD, to, unix.AT_SYMLINK_FOLLOW)
	}
	if err != nil {
		return &fs.PathError{Op: "link", Path: to, Err: err}
	}
	f.temp = to
	return nil
}

// beginFlush asks the system to put n bytes of a file on disk, without waiting for it. Where it can't, Sync does all of
// it.
func beginFlush(f *os.File, from, n int64) {
	unix.SyncFileRange(int(f.Fd()), from, n, unix.SYNC_FILE_RANGE_WRITE) //nolint:errcheck // as above
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
