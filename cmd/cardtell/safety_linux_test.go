package main

import (
	"bytes"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"
)

// batchOf is a batch that writes two doors' files and rejects.
func batchOf(in, site, out string) []string {
	return []string{"batch", in, "-c", "Card", "--site", site, "--any", "--door", "all", "-o", out}
}

// bigList is a list of so many rows, with a reject in every hundred rows.
func bigList(rows int) string {
	rnd := rand.New(rand.NewPCG(9, 9))
	var b strings.Builder
	b.WriteString("Name,Card\n")
	for i := range rows {
		if i%100 == 7 {
			b.WriteString("Ann,x\n")
			continue
		}
		b.WriteString("Name of somebody,\"" + []string{"121", "122"}[rnd.IntN(2)] + ",")
		b.WriteString(string(rune('1'+rnd.IntN(9))) + string(rune('0'+rnd.IntN(10))) + "\"\n")
	}
	return b.String()
}

// Killed at 200 random moments: each output is the old one or the new one, whole; nothing else is left in the folder or
// in the one for temporary files, whether CSV or XLSX is written.
func TestKilledAtAnyMoment(t *testing.T) {
	if testing.Short() {
		t.Skip("takes half a minute")
	}
	for _, ext := range []string{".csv", ".xlsx"} {
		t.Run(ext, func(t *testing.T) {
			rows := map[string]int{".csv": 4_000, ".xlsx": 1_000}[ext]
			in, site := write(t, "in.csv", bigList(rows)), write(t, "site.toml", siteText)
			dir, temp := t.TempDir(), t.TempDir()
			t.Setenv("TMPDIR", temp)
			out := filepath.Join(dir, "out"+ext)
			files := []string{"out" + ext + ".rejects.csv", "out.north" + ext, "out.south" + ext}
			start := time.Now()
			require.Error(t, exec.Command("cardtell", batchOf(in, site, out)...).Run(), "rejects: exit code 1")
			took := time.Since(start)
			fresh := map[string]string{}
			for _, name := range files {
				fresh[name] = read(t, filepath.Join(dir, name))
			}
			slices.Sort(files)
			rnd := rand.New(rand.NewPCG(10, uint64(len(ext))))
			killed, replaced, want := 0, 0, map[string]int{".csv": 150, ".xlsx": 50}[ext]
			for killed < want {
				for _, name := range files {
					require.NoError(t, os.WriteFile(filepath.Join(dir, name), []byte("old "+name), 0o600))
				}
				c := exec.Command("cardtell", batchOf(in, site, out)...)
				start := time.Now()
				require.NoError(t, c.Start())
				time.Sleep(time.Duration(rnd.Int64N(int64(took * 9 / 8))))
				c.Process.Kill() //nolint:errcheck // it may have ended
				err := c.Wait()
				if c.ProcessState.Exited() {
					require.Equal(t, 1, c.ProcessState.ExitCode(), "%v", err)
					took = min(took, time.Since(start)) // so that most are killed, however busy the machine was at first
				} else {
					killed++
				}
				for _, name := range files {
					switch text := read(t, filepath.Join(dir, name)); {
					case text == fresh[name]:
						replaced++
					case ext == ".xlsx" && strings.HasSuffix(name, ".xlsx") && len(text) == len(fresh[name]):
						replaced++ // a workbook may have the time in it
					default:
						require.True(t, text == "old "+name, "%s is neither the old file nor the new one", name)
						require.False(t, c.ProcessState.Exited(), "it ended, and a file is old")
					}
				}
				left := names(t, dir)
				if len(left) > len(files) { // killed between two calls of the system: the next run takes it away
					cli(batchOf(in, site, out)...)
					left = names(t, dir)
				}
				require.Equal(t, files, left)
				require.Empty(t, names(t, temp))
			}
			t.Logf("%d of the runs were killed, %d files were new by then", killed, replaced)
		})
	}
}

// Killed between the files of two doors, which the kernel tells of when the first is in its place: a new run says which
// files are of which run, writes all of them anew, and leaves nothing else.
func TestKilledBetweenTwoFiles(t *testing.T) {
	const doors = 120 // so that the kill comes before the last
	text := siteText
	for i := range doors {
		text += fmt.Sprintf("[[doors]]\nname = \"Door %d\"\nenter = \"hex\"\n", i)
	}
	in, site := write(t, "in.csv", bigList(300)), write(t, "site.toml", text)
	dir, whole := t.TempDir(), t.TempDir()
	cli(batchOf(in, site, filepath.Join(whole, "out.csv"))...)
	files := names(t, whole)
	watch, err := unix.InotifyInit1(unix.IN_CLOEXEC)
	require.NoError(t, err)
	defer unix.Close(watch)
	_, err = unix.InotifyAddWatch(watch, dir, unix.IN_MOVED_TO)
	require.NoError(t, err)
	out := filepath.Join(dir, "out.csv")
	for try := 1; ; try++ {
		require.LessOrEqual(t, try, 20, "it was never killed in between")
		for _, name := range files {
			require.NoError(t, os.WriteFile(filepath.Join(dir, name), []byte("old"), 0o600))
		}
		c := exec.Command("cardtell", batchOf(in, site, out)...)
		require.NoError(t, c.Start())
		for done, buf := false, make([]byte, 4096); !done; {
			n, err := unix.Read(watch, buf)
			require.NoError(t, err)
			done = bytes.Contains(buf[:n], []byte("out.door-"))
		}
		require.NoError(t, c.Process.Kill())
		c.Wait() //nolint:errcheck // killed
		fresh := 0
		for _, name := range files {
			if read(t, filepath.Join(dir, name)) == read(t, filepath.Join(whole, name)) {
				fresh++
			}
		}
		if fresh > 0 && fresh < len(files) {
			t.Logf("%d of %d files were new", fresh, len(files))
			r := batchJSON(t, 1, append(batchOf(in, site, out)[1:], "--dry-run")...)
			of, older, _ := strings.Cut(r.Warnings[0], "; still older: ")
			for _, name := range files {
				isNew := read(t, filepath.Join(dir, name)) != "old"
				assert.Equal(t, isNew, strings.Contains(of+",", name+","), name)
				assert.Equal(t, !isNew, strings.Contains(older, name), name)
			}
			break
		}
		for buf := make([]byte, 1<<16); ; { // what came after the kill
			p := []unix.PollFd{{Fd: int32(watch), Events: unix.POLLIN}}
			if n, _ := unix.Poll(p, 0); n == 0 {
				break
			}
			unix.Read(watch, buf) //nolint:errcheck // drained
		}
	}
	r := batchJSON(t, 1, batchOf(in, site, out)[1:]...)
	assert.Contains(t, r.Warnings[0], "this run writes all of them anew")
	assert.Equal(t, files, names(t, dir), "nothing is left")
	for _, name := range files {
		assert.Equal(t, read(t, filepath.Join(whole, name)), read(t, filepath.Join(dir, name)), name)
	}
}

// tmpfs mounts a file system of so many bytes in memory.
func tmpfs(t *testing.T, size string) string {
	t.Helper()
	dir := t.TempDir()
	if out, err := exec.Command("mount", "-t", "tmpfs", "-o", "size="+size, "tmpfs", dir).CombinedOutput(); err != nil {
		t.Skipf("no file system can be mounted here, which takes root: %v: %s", err, out)
	}
	t.Cleanup(func() {
		if out, err := exec.Command("umount", dir).CombinedOutput(); err != nil {
			t.Errorf("umount: %v: %s", err, out)
		}
	})
	return dir
}

// With the disk full the old files stay, nothing is left over, and the exit code is 3.
func TestDiskFull(t *testing.T) {
	dir := tmpfs(t, "512k")
	in, site := write(t, "in.csv", bigList(25_000)), write(t, "site.toml", siteText)
	for _, ext := range []string{".csv", ".xlsx"} {
		out := filepath.Join(dir, "out"+ext)
		for _, name := range []string{"out.north" + ext, "out.south" + ext} {
			require.NoError(t, os.WriteFile(filepath.Join(dir, name), []byte("old"), 0o600))
		}
		before := names(t, dir)
		code, stdout, stderr := cli(batchOf(in, site, out)...)
		assert.Equal(t, 3, code)
		assert.Empty(t, stdout)
		assert.Contains(t, stderr, "no space left on device")
		assert.Equal(t, 1, strings.Count(stderr, "\n"))
		assert.Equal(t, before, names(t, dir))
		for _, name := range []string{"out.north" + ext, "out.south" + ext} {
			assert.True(t, read(t, filepath.Join(dir, name)) == "old", "%s is not the old one", name)
		}
	}
}

// A folder that can't be written to: exit code 3, and what is there stays.
func TestReadOnlyFolder(t *testing.T) {
	dir := tmpfs(t, "8m")
	in, site := write(t, "in.csv", bigList(100)), write(t, "site.toml", siteText)
	out := filepath.Join(dir, "out.csv")
	old := filepath.Join(dir, "out.north.csv")
	require.NoError(t, os.WriteFile(old, []byte("old"), 0o600))
	if text, err := exec.Command("mount", "-o", "remount,ro", dir).CombinedOutput(); err != nil {
		t.Skipf("can't be made read-only here: %v: %s", err, text)
	}
	code, stdout, stderr := cli(batchOf(in, site, out)...)
	assert.Equal(t, 3, code)
	assert.Empty(t, stdout)
	assert.Contains(t, stderr, "read-only file system")
	assert.Equal(t, "old", read(t, old))
	assert.Equal(t, []string{"out.north.csv"}, names(t, dir))
}

// A row that can't be read comes after thousands that can: still nothing is there but what was.
func TestNothingIsHalfWritten(t *testing.T) {
	dir := t.TempDir()
	in := write(t, "in.csv", bigList(20_000)+"Zoe,121,5,6\n")
	out := filepath.Join(dir, "out.csv")
	code, _, stderr := cli("batch", in, "-c", "Card", "--format", "26-8-16", "--from", "pair", "--to", "hex", "-o", out)
	assert.Equal(t, 2, code)
	assert.Contains(t, stderr, "in.csv:20002: 4 cells where the first row has 2")
	assert.Empty(t, names(t, dir))
}
