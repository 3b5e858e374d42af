package list

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
)

// Together puts files in their places as nearly at once as a system can: all of them are complete and on disk beside
// their targets before the first is renamed. While they are, a mark beside the first target names them, so that the
// next run can tell which file is of which run where this one is killed in between: see [Interrupted].
func Together(out string, writers []*Writer) error {
	errs := make([]error, len(writers))
	var all sync.WaitGroup
	for i, w := range writers {
		all.Go(func() { errs[i] = w.finish() }) // a disk takes several files at once
	}
	all.Wait()
	for i, w := range writers {
		if errs[i] == nil {
			errs[i] = w.stage()
		}
		if errs[i] != nil {
			return errs[i]
		}
	}
	if len(writers) > 1 {
		_, left, err := Interrupted(out)
		if err == nil {
			err = writeMark(out, writers)
		}
		if err != nil {
			return err
		}
		defer removeMark(out, left, writers)
	}
	for i, w := range writers {
		if err := w.Commit(); err != nil {
			return afterSome(err, writers[:i])
		}
	}
	return nil
}

// removeMark takes the mark away, and what an earlier run has left of files that are none of this run's.
func removeMark(out string, left []string, writers []*Writer) {
	for _, target := range left {
		if !slices.ContainsFunc(writers, func(w *Writer) bool { return Place(w.target()) == target }) {
			os.Remove(ready(target)) //nolint:errcheck // it was complete, and nobody waits for it
		}
	}
	os.Remove(markOf(out)) //nolint:errcheck // a mark that stays is told of by the next run
}

// afterSome says which files are in their places already.
func afterSome(err error, done []*Writer) error {
	if len(done) == 0 {
		return err
	}
	names := make([]string, len(done))
	for i, w := range done {
		names[i] = w.target()
	}
	return fmt.Errorf("%w; %s in place already, and of this run", err, strings.Join(names, ", "))
}

func markOf(out string) string { return beside(Place(out), "run") }

func writeMark(out string, writers []*Writer) error {
	var b strings.Builder
	for _, w := range writers {
		if t := w.target(); t != "" {
			b.WriteString(Place(t) + "\n")
		}
	}
	f, err := os.OpenFile(markOf(out), os.O_WRONLY|os.O_CREATE|os.O_TRUNC, 0o600)
	if err != nil {
		return err
	}
	_, err = f.WriteString(b.String())
	return errors.Join(err, f.Sync(), f.Close(), syncFolder(filepath.Dir(markOf(out))))
}

// Interrupted returns which files an earlier run to the same output has put in their places before it was ended, and
// which it had not. Both are empty where none was ended in that moment.
func Interrupted(out string) (done, left []string, err error) {
	text, err := os.ReadFile(markOf(out))
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil, nil
	}
	if err != nil {
		return nil, nil, err
	}
	for _, target := range strings.Split(strings.TrimSuffix(string(text), "\n"), "\n") {
		if _, err := os.Lstat(ready(target)); err == nil {
			left = append(left, target)
		} else {
			done = append(done, target)
		}
	}
	return done, left, nil
}
