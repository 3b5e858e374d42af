package list

import (
	"os"
	"path/filepath"
	"runtime"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// folder returns the names in a folder.
func folder(t *testing.T, dir string) (names []string) {
	t.Helper()
	entries, err := os.ReadDir(dir)
	require.NoError(t, err)
	for _, e := range entries {
		names = append(names, e.Name())
	}
	return names
}

func TestFileAppearsWhole(t *testing.T) {
	dir := t.TempDir()
	name := filepath.Join(dir, "out.csv")
	f, err := NewFile(name)
	require.NoError(t, err)
	_, err = f.Write([]byte("half"))
	require.NoError(t, err)
	if runtime.GOOS == "linux" {
		assert.Empty(t, folder(t, dir), "nothing is there before it is complete")
	}
	require.NoError(t, f.Commit())
	require.NoError(t, f.Abort(), "after Commit it does nothing")
	assert.Equal(t, []string{"out.csv"}, folder(t, dir))
	info, err := os.Stat(name)
	require.NoError(t, err)
	if runtime.GOOS != "windows" {
		assert.Equal(t, os.FileMode(0o600), info.Mode().Perm(), "a new file is its owner's alone")
	}
	text, err := os.ReadFile(name)
	require.NoError(t, err)
	assert.Equal(t, "half", string(text))
}

func TestAbortedFileLeavesTheOldOne(t *testing.T) {
	dir := t.TempDir()
	name := filepath.Join(dir, "out.csv")
	require.NoError(t, os.WriteFile(name, []byte("old"), 0o640))
	f, err := NewFile(name)
	require.NoError(t, err)
	_, err = f.Write([]byte("new"))
	require.NoError(t, err)
	require.NoError(t, f.Abort())
	text, err := os.ReadFile(name)
	require.NoError(t, err)
	assert.Equal(t, "old", string(text))
	assert.Equal(t, []string{"out.csv"}, folder(t, dir))

	f, err = NewFile(name)
	require.NoError(t, err)
	_, err = f.Write([]byte("new"))
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(filepath.Join(dir, ".out.csv.cardtell-ready"), []byte("left by a kill"), 0o600))
	require.NoError(t, f.Commit())
	assert.Equal(t, []string{"out.csv"}, folder(t, dir), "what a kill left is taken away")
	info, err := os.Stat(name)
	require.NoError(t, err)
	assert.Equal(t, os.FileMode(0o640), info.Mode().Perm(), "an old file keeps its permissions")
}

// Where the file system has no files without a name, the file has a hidden one, which is always the same, until it is
// in its place; given up it is gone.
func TestFileOnAPlainFileSystem(t *testing.T) {
	dir := t.TempDir()
	target := filepath.Join(dir, "out.csv")
	require.NoError(t, os.WriteFile(part(target), []byte("left by a kill"), 0o600))
	for _, commit := range []bool{false, true} {
		opened, temp, err := named(target)
		require.NoError(t, err)
		assert.Equal(t, []string{".out.csv.cardtell-part"}, folder(t, dir))
		f := &File{f: opened, temp: temp, target: target}
		_, err = f.Write([]byte("whole"))
		require.NoError(t, err)
		if !commit {
			require.NoError(t, f.Abort())
			assert.Empty(t, folder(t, dir))
			continue
		}
		require.NoError(t, f.Commit())
		assert.Equal(t, []string{"out.csv"}, folder(t, dir))
		text, err := os.ReadFile(target)
		require.NoError(t, err)
		assert.Equal(t, "whole", string(text))
	}
}

// Links that lead in a circle are an error, and so is a folder that took the file's place while it was written.
func TestNoPlaceToWrite(t *testing.T) {
	dir := t.TempDir()
	ring := filepath.Join(dir, "ring")
	require.NoError(t, os.Symlink("ring", ring))
	_, err := NewFile(ring)
	assert.ErrorContains(t, err, "too many links")
	require.NoError(t, os.Remove(ring))

	target := filepath.Join(dir, "out.csv")
	f, err := NewFile(target)
	require.NoError(t, err)
	require.NoError(t, os.MkdirAll(filepath.Join(target, "full"), 0o700))
	err = f.Commit()
	assert.ErrorContains(t, err, "the file is as it was before")
	assert.NotContains(t, err.Error(), ".cardtell-", "nobody knows a name that nobody gave")
	assert.Equal(t, []string{"out.csv"}, folder(t, dir), "nothing is left")
}

// The output is never an input, by whatever name.
func TestOutputIsNotTheInput(t *testing.T) {
	dir := t.TempDir()
	in := filepath.Join(dir, "in.csv")
	require.NoError(t, os.WriteFile(in, []byte("a\n1\n"), 0o600))
	info, err := os.Stat(in)
	require.NoError(t, err)
	hard, soft, far := filepath.Join(dir, "hard"), filepath.Join(dir, "soft"), filepath.Join(dir, "far")
	require.NoError(t, os.Link(in, hard))
	require.NoError(t, os.Symlink("in.csv", soft))
	require.NoError(t, os.Symlink(soft, far))
	for _, name := range []string{in, hard, soft, far, filepath.Join(dir, ".", "in.csv")} {
		_, err := NewFile(name, info)
		var e *Error
		require.ErrorAs(t, err, &e, name)
		assert.Contains(t, e.Reason, "a file that is read")
	}
	other := filepath.Join(dir, "other")
	require.NoError(t, os.Symlink("new.csv", other))
	f, err := NewFile(other, info)
	require.NoError(t, err)
	_, err = f.Write([]byte("x"))
	require.NoError(t, err)
	require.NoError(t, f.Commit())
	link, err := os.Readlink(other)
	require.NoError(t, err)
	assert.Equal(t, "new.csv", link, "the link stays, what it leads to is written")
	_, err = os.Stat(filepath.Join(dir, "new.csv"))
	assert.NoError(t, err)
	_, err = NewFile(dir)
	assert.ErrorContains(t, err, "is a folder")
	_, err = NewFile(filepath.Join(dir, "no", "such"))
	assert.ErrorIs(t, err, os.ErrNotExist)
}
