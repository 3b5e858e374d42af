package examples

import (
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// page does in Node.js what the page does: it loads the program, waits for the function, and asks it.
const page = `
require(process.argv[1] + "/lib/wasm/wasm_exec.js");
globalThis.cardtellReady = () => {
	const a = cardtell("26:32D687E=46143"), best = a.candidates[0];
	console.log(best.format, best.facility, best.number, best.probability > 0.99);
	console.log(cardtell("26:FFFFFFFF").error);
	console.log(cardtell().error);
	process.exit(0);
};
const go = new Go();
WebAssembly.instantiate(require("fs").readFileSync(process.argv[2]), go.importObject).then(r => go.run(r.instance));
`

// The browser example builds, and answers as the library does.
func TestBrowser(t *testing.T) {
	t.Parallel()
	if testing.Short() {
		t.Skip("builds a program")
	}
	node, err := exec.LookPath("node")
	if err != nil {
		t.Skip("no Node.js here to run it in")
	}
	wasm := filepath.Join(t.TempDir(), "cardtell.wasm")
	build := exec.Command("go", "build", "-o", wasm, "./browser")
	build.Env = append(os.Environ(), "GOOS=js", "GOARCH=wasm")
	text, err := build.CombinedOutput()
	require.NoError(t, err, string(text))
	root, err := exec.Command("go", "env", "GOROOT").Output()
	require.NoError(t, err)
	run := exec.Command(node, "-e", page, string(root[:len(root)-1]), wasm)
	text, err = run.CombinedOutput()
	require.NoError(t, err, "%s on %s", text, runtime.GOOS)
	assert.Equal(t, `26-8-16 150 46143 true
parse bits "26:FFFFFFFF": FFFFFFFF needs more than 26 bits; give the number of bits the reader sent
cardtell: takes one text, a card
`, string(text))
}
