package independent

import (
	"bytes"
	"encoding/json"
	"os/exec"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"
)

// seed makes the random reads, lists and recordings.
const seed = 1996

// scripts is where the Python programs are.
const scripts = "../../../../testdata/independent"

// python returns a command that runs one of the scripts, alone: without what the environment says or a user has installed.
// The test is skipped where there is no python3, or where it is too old to have the module that the script needs.
func python(t *testing.T, script, needs string) *exec.Cmd {
	t.Helper()
	name, err := exec.LookPath("python3")
	if err != nil {
		t.Skip("python3 is not installed: nothing to compare with")
	}
	if out, err := exec.Command(name, "-I", "-c", "import "+needs).CombinedOutput(); err != nil {
		t.Skipf("python3 can't import %s, so there is nothing to compare with: %s", needs, bytes.TrimSpace(out))
	}
	return exec.Command(name, "-I", "-B", "-X", "utf8", filepath.Join(scripts, script))
}

// ask puts all questions to one run of a script, a line of JSON each, and returns its answers.
func ask[A, Q any](t *testing.T, script, needs string, questions []Q) []A {
	t.Helper()
	cmd := python(t, script, needs)
	var in, out, complaints bytes.Buffer
	enc := json.NewEncoder(&in)
	for _, q := range questions {
		require.NoError(t, enc.Encode(q))
	}
	cmd.Stdin, cmd.Stdout, cmd.Stderr = &in, &out, &complaints
	require.NoError(t, cmd.Run(), "%s: %s", script, &complaints)
	answers := make([]A, 0, len(questions))
	for dec := json.NewDecoder(&out); dec.More(); {
		var a A
		require.NoError(t, dec.Decode(&a), script)
		answers = append(answers, a)
	}
	require.Len(t, answers, len(questions), script)
	return answers
}
