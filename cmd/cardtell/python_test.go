package main

import (
	"bytes"
	"encoding/json"
	"os/exec"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"
)

// python runs a script of testdata/independent, which is asked a question a line on standard input, and returns its
// answers. Nothing of the environment or of what a user has installed counts. The test is skipped where Python can't
// run the script.
func python[A, Q any](t *testing.T, script string, questions []Q, args ...string) []A {
	t.Helper()
	name, err := exec.LookPath("python3")
	if err != nil || exec.Command(name, "-I", "-c", "match 1:\n case _: pass").Run() != nil {
		t.Skip("no python3, or one that is too old: nothing to compare with")
	}
	var in, complaints bytes.Buffer
	for _, q := range questions {
		require.NoError(t, json.NewEncoder(&in).Encode(q))
	}
	path := filepath.Join("..", "..", "testdata", "independent", script)
	cmd := exec.Command(name, append([]string{"-I", "-B", "-X", "utf8", path}, args...)...)
	cmd.Stdin, cmd.Stderr = &in, &complaints
	out, err := cmd.Output()
	require.NoError(t, err, complaints.String())
	var answers []A
	for d := json.NewDecoder(bytes.NewReader(out)); d.More(); {
		var a A
		require.NoError(t, d.Decode(&a))
		answers = append(answers, a)
	}
	if len(questions) > 0 {
		require.Len(t, answers, len(questions))
	}
	return answers
}
