package independent

import (
	"bytes"
	"encoding/json"
	"os/exec"
	"path/filepath"
	"runtime"
	"testing"

	"github.com/stretchr/testify/require"
)

// tooOld is the exit code of a script that needs a newer Python.
const tooOld = 3

// Ask puts all questions to one run of a script of testdata/independent, a line of JSON each, and returns its answers,
// one for each question where there are any. The script runs alone: without what the environment says or a user has
// installed. The test is skipped where there is no python3, or only one that is too old.
func Ask[A, Q any](t *testing.T, script string, questions []Q, args ...string) []A {
	t.Helper()
	python, err := exec.LookPath("python3")
	if err != nil {
		t.Skip("python3 is not installed: nothing to compare with")
	}
	var in, out, complaints bytes.Buffer
	for enc, i := json.NewEncoder(&in), 0; i < len(questions); i++ {
		require.NoError(t, enc.Encode(questions[i]))
	}
	_, here, _, _ := runtime.Caller(0)
	path := filepath.Join(filepath.Dir(here), "../../../../testdata/independent", script)
	cmd := exec.Command(python, append([]string{"-I", "-B", "-X", "utf8", path}, args...)...)
	cmd.Stdin, cmd.Stdout, cmd.Stderr = &in, &out, &complaints
	err = cmd.Run()
	switch {
	case err == nil:
	case cmd.ProcessState != nil && cmd.ProcessState.ExitCode() == tooOld:
		t.Skipf("nothing to compare with: %s", bytes.TrimSpace(complaints.Bytes()))
	case exec.Command(python, "-I", "-c", "match 1:\n case _: pass").Run() != nil:
		t.Skipf("%s does not run, or is too old: nothing to compare with", python)
	default:
		t.Fatalf("%s: %v\n%s", script, err, &complaints)
	}
	answers := make([]A, 0, len(questions))
	for dec := json.NewDecoder(&out); dec.More(); {
		var a A
		require.NoError(t, dec.Decode(&a), script)
		answers = append(answers, a)
	}
	if len(questions) > 0 {
		require.Len(t, answers, len(questions), script)
	}
	return answers
}
