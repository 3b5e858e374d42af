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

// tooOld is the exit code of a script that needs a newer Python.
const tooOld = 3

// ask puts all questions to one run of a script, a line of JSON each, and returns its answers. The script runs alone:
// without what the environment says or a user has installed. The test is skipped where there is no python3, or only one
// that is too old.
func ask[A, Q any](t *testing.T, script string, questions []Q) []A {
	t.Helper()
	python, err := exec.LookPath("python3")
	if err != nil {
		t.Skip("python3 is not installed: nothing to compare with")
	}
	var in, out, complaints bytes.Buffer
	enc := json.NewEncoder(&in)
	for _, q := range questions {
		require.NoError(t, enc.Encode(q))
	}
	cmd := exec.Command(python, "-I", "-B", "-X", "utf8", filepath.Join(scripts, script))
	cmd.Stdin, cmd.Stdout, cmd.Stderr = &in, &out, &complaints
	err = cmd.Run()
	switch {
	case err == nil:
	case cmd.ProcessState != nil && cmd.ProcessState.ExitCode() == tooOld:
		t.Skipf("nothing to compare with: %s", bytes.TrimSpace(complaints.Bytes()))
	case exec.Command(python, "-I", "-c", "pass").Run() != nil:
		t.Skipf("%s is no Python that runs: nothing to compare with", python)
	default:
		t.Fatalf("%s: %v\n%s", script, err, &complaints)
	}
	answers := make([]A, 0, len(questions))
	for dec := json.NewDecoder(&out); dec.More(); {
		var a A
		require.NoError(t, dec.Decode(&a), script)
		answers = append(answers, a)
	}
	require.Len(t, answers, len(questions), script)
	return answers
}
