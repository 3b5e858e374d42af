package list

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
)

// File is a file that is being written. It takes the place of an older one in one step when it is committed, whole and
// on disk; until then the older one is as it was. Aborted or killed it leaves nothing behind, where the system can:
// card numbers are credentials, and a forgotten copy of them is one that nobody guards.
type File struct {
	f      *os.File
	target string // with symbolic links followed: the link stays, what it leads to is replaced
	temp   string // a name of its own, "" where the file has none yet
	direct bool   // a device or pipe, written as it is
	mode   fs.FileMode
	synced bool
	staged bool
	done   bool
	behind int64 // bytes of which the writing to disk has not begun
	length int64
}

// NewFile begins to write a file. One that exists keeps its permissions; a new one can be read by its owner alone. The
// error is an [*Error] where the target is one of the inputs, by whatever name or link; an [*fs.PathError] where it
// can't be written.
func NewFile(name string, inputs ...fs.FileInfo) (*File, error) {
	target, err := followed(name)
	if err != nil {
		return nil, err
	}
	old, err := os.Stat(target)
	f := &File{target: target, mode: 0o600}
	switch {
	case errors.Is(err, fs.ErrNotExist):
	case err != nil:
		return nil, err
	case old.IsDir():
		return nil, &fs.PathError{Op: "write", Path: name, Err: errors.New("is a folder; name a file in it")}
	case !old.Mode().IsRegular():
		f.direct = true
		f.f, err = os.OpenFile(target, os.O_WRONLY, 0)
		return f, err
	default:
		f.mode = old.Mode().Perm()
		for _, in := range inputs {
			if in != nil && os.SameFile(in, old) {
				return nil, &Error{File: name, Reason: "the output is a file that is read; write to another one"}
			}
		}
		if err := writable(target); err != nil {
			return nil, err
		}
	}
	if f.f, f.temp, err = unnamed(target); err != nil {
		return nil, err
	}
	if err := f.f.Chmod(f.mode); err != nil {
		return nil, errors.Join(err, f.Abort())
	}
	return f, nil
}

// writable returns an error for a file that must not be written: replacing it would need no permission of its own.
func writable(target string) error {
	f, err := os.OpenFile(target, os.O_WRONLY, 0)
	if path, ok := errors.AsType[*fs.PathError](err); ok {
		return &fs.PathError{Op: "write", Path: target, Err: path.Err}
	}
	return f.Close()
}

// followed returns where a name leads, through symbolic links. The last one may lead to a file that does not exist yet.
func followed(name string) (string, error) {
	for range 40 { // as many as systems follow
		link, err := os.Readlink(name)
		if err != nil {
			return name, nil //nolint:nilerr // not a link
		}
		if !filepath.IsAbs(link) {
			link = filepath.Join(filepath.Dir(name), link)
		}
		name = link
	}
	return "", &fs.PathError{Op: "write", Path: name, Err: errors.New("too many links")}
}

// Place returns where a name leads: the same for two names of one file, by whatever path or link, even where there is
// no such file yet. What can't be found out is left as it is written.
func Place(name string) string {
	if target, err := followed(name); err == nil {
		name = target
	}
	if whole, err := filepath.Abs(name); err == nil {
		name = whole
	}
	if dir, err := filepath.EvalSymlinks(filepath.Dir(name)); err == nil {
		name = filepath.Join(dir, filepath.Base(name))
	}
	return name
}

// Write adds to the file. The error names the target, not a temporary name.
func (f *File) Write(p []byte) (int, error) {
	n, err := f.f.Write(p)
	if f.length, f.behind = f.length+int64(n), f.behind+int64(n); f.behind >= flushFrom && !f.direct {
		beginFlush(f.f, f.length-f.behind, f.behind)
		f.behind = 0
	}
	return n, f.blame(err)
}

// flushFrom is after how many bytes the system is asked to begin to put them on disk, so that there is less to wait for
// at the end.
const flushFrom = 4 << 20

// blame makes an error name the target, where it is about a name that the caller has never seen.
func (f *File) blame(err error) error {
	var path *fs.PathError
	var link *os.LinkError
	switch {
	case errors.As(err, &path):
		err = path.Err
	case errors.As(err, &link):
		err = link.Err
	case err == nil:
		return nil
	}
	return &fs.PathError{Op: "write", Path: f.target, Err: fmt.Errorf("%w; the file is as it was before", err)}
}

// Sync puts what was written on disk. A second time it does nothing.
func (f *File) Sync() error {
	if f.synced || f.direct {
		return nil
	}
	if err := f.f.Sync(); err != nil {
		return errors.Join(f.blame(err), f.Abort())
	}
	f.synced = true
	return nil
}

// Stage gives what was written a name beside the target, once it is on disk, so that Commit has only to rename it. A
// second time it does nothing.
func (f *File) Stage() error {
	if f.staged || f.direct || f.done {
		return nil
	}
	if err := f.Sync(); err != nil {
		return err
	}
	if err := f.stage(ready(f.target)); err != nil {
		return errors.Join(f.blame(err), f.Abort())
	}
	f.staged = true
	return nil
}

// Commit puts the file in its place, after what was written is on disk.
func (f *File) Commit() error {
	if f.done {
		return nil
	}
	if f.direct {
		f.done = true
		return f.f.Close()
	}
	if err := f.Stage(); err != nil {
		return err
	}
	if err := os.Rename(f.temp, f.target); err != nil {
		return errors.Join(f.blame(err), f.Abort())
	}
	f.done = true
	if err := f.f.Close(); err != nil && !errors.Is(err, os.ErrClosed) {
		return err
	}
	return syncFolder(filepath.Dir(f.target))
}

// Abort gives the file up. After Commit it does nothing.
func (f *File) Abort() error {
	if f.done {
		return nil
	}
	f.done = true
	err := f.f.Close()
	if errors.Is(err, os.ErrClosed) {
		err = nil
	}
	if f.temp != "" {
		err = errors.Join(err, os.Remove(f.temp))
	}
	return err
}

// part and ready are the names that a file has while it is written, where it needs one, and when it is complete and not
// yet in its place. They are always the same for a target, so that what a kill has left is taken away by the next run.
func part(target string) string  { return beside(target, "part") }
func ready(target string) string { return beside(target, "ready") }

func beside(target, what string) string {
	return filepath.Join(filepath.Dir(target), "."+filepath.Base(target)+".cardtell-"+what)
}

var _ io.Writer = (*File)(nil)

// named opens a file beside the target, for systems without files that have no name.
func named(target string) (f *os.File, temp string, err error) {
	temp = part(target)
	if err = os.Remove(temp); err == nil || errors.Is(err, fs.ErrNotExist) {
		f, err = os.OpenFile(temp, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	}
	if path, ok := errors.AsType[*fs.PathError](err); ok {
		err = &fs.PathError{Op: "write", Path: target, Err: path.Err} // nobody has seen the other name
	}
	return f, temp, err
}

// rename gives a file that has a name another one.
func (f *File) rename(to string) error {
	if err := os.Rename(f.temp, to); err != nil {
		return err
	}
	f.temp = to
	return nil
}
