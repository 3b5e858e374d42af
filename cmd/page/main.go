// Command page writes the program as one page for a browser: a file that opens from a disk, a mail or a web server,
// asks nothing of the network, and answers as the command line does, because the program itself is in it.
//
//	go run ./cmd/page -o cardtell.html
package main

import (
	"crypto/sha256"
	_ "embed"
	"encoding/base64"
	"encoding/json"
	"flag"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"

	"github.com/cardtell/cardtell/formats/rank"
)

// The parts of the page.
var (
	//go:embed page.html
	pageHTML string
	//go:embed page.css
	pageCSS string
	//go:embed page.js
	pageJS string
	//go:embed worker.js
	workerJS string
	//go:embed signs.js
	signsJS string
	//go:embed unpack.js
	unpackJS string
	//go:embed fs.js
	fsJS string
)

const program = "github.com/cardtell/cardtell/cmd/cardtell"

func main() {
	output := flag.String("o", "cardtell.html", "the `FILE` to write")
	flag.Parse()
	page, err := build()
	if err == nil {
		err = os.WriteFile(*output, page, 0o644)
	}
	if err != nil {
		fmt.Fprintf(os.Stderr, "page: %v\n", err)
		os.Exit(1)
	}
	fmt.Fprintf(os.Stderr, "%s: %d bytes\n", *output, len(page))
}

// build returns the page. The same source and release of Go make the same bytes.
func build() ([]byte, error) {
	dir, err := os.MkdirTemp("", "page")
	if err != nil {
		return nil, err
	}
	defer os.RemoveAll(dir)
	wasm := filepath.Join(dir, "cardtell.wasm")
	// Functions that are not put into their callers make a smaller file, and one that starts sooner.
	command := exec.Command("go", "build", "-trimpath", "-gcflags=all=-l", "-ldflags=-s -w", "-o", wasm, program)
	command.Env = append(os.Environ(), "GOOS=js", "GOARCH=wasm")
	if text, err := command.CombinedOutput(); err != nil {
		return nil, fmt.Errorf("%s: %w\n%s", strings.Join(command.Args, " "), err, text)
	}
	code, err := os.ReadFile(wasm)
	if err != nil {
		return nil, err
	}
	root, err := goRoot()
	if err != nil {
		return nil, err
	}
	support, err := os.ReadFile(filepath.Join(root, supportFile))
	if err != nil {
		return nil, err
	}
	packed, err := squeeze(code)
	if err != nil {
		return nil, err
	}
	notices, err := notices()
	if err != nil {
		return nil, err
	}
	return assemble(string(support), written(packed), notices)
}

// supportFile is what a program of Go needs around it in a browser, in Go's own folder.
const supportFile = "lib/wasm/wasm_exec.js"

// goRoot is that folder.
func goRoot() (string, error) {
	root, err := exec.Command("go", "env", "GOROOT").Output()
	if err != nil {
		return "", fmt.Errorf("go env GOROOT: %w", err)
	}
	return strings.TrimSpace(string(root)), nil
}

// assemble puts the parts together. Scripts and styles are known to the page by what is in them, and nothing else runs.
func assemble(support, code, notices string) ([]byte, error) {
	words := map[string]string{}
	for f := rank.None; f <= rank.FlippedBit; f++ {
		words[f.String()] = f.Words()
	}
	faults, err := json.Marshal(words)
	if err != nil {
		return nil, err
	}
	packed := map[string]string{}
	for name, text := range map[string]string{"WORKER": bare(fsJS + support + signsJS + unpackJS + workerJS), "NOTICES": notices} {
		zipped, err := zip([]byte(text))
		if err != nil {
			return nil, err
		}
		packed[name] = written(zipped)
	}
	style, script := dense(bare(pageCSS)), bare(pageJS+signsJS)
	parts := map[string]string{
		"STYLE": style, "SCRIPT": script, "WORKER": packed["WORKER"], "PROGRAM": code,
		"FAULTS": string(faults), "NOTICES": packed["NOTICES"],
		"STYLE-HASH": hash(style), "SCRIPT-HASH": hash(script),
	}
	var pairs []string
	for name, text := range parts {
		pairs = append(pairs, "{{"+name+"}}", text)
	}
	return utf16LE(strings.NewReplacer(pairs...).Replace(pageHTML)), nil
}

// bare leaves out what is for readers alone: white space before a line, and lines that are empty or a
// remark, but for those about its rights. No script here has a text of several lines, in which they would matter.
func bare(script string) string {
	var b strings.Builder
	for line := range strings.Lines(script) {
		line = strings.TrimSpace(line)
		if line != "" && (!strings.HasPrefix(line, "//") || rights.MatchString(line)) {
			b.WriteString(line + "\n")
		}
	}
	return b.String()
}

// dense leaves out the white space in a style sheet that parts nothing: CSS Syntax level 3, section 4. None stands
// within a text here, and before a colon it is a combinator.
func dense(style string) string {
	return before.ReplaceAllString(after.ReplaceAllString(style, "$1"), "$1")
}

var after, before = regexp.MustCompile(`([{}:;,>])\s+`), regexp.MustCompile(`\s+([{}>])`)

var rights = regexp.MustCompile("(?i)copyright|license")

// hash writes what is in an element as a content security policy does: CSP level 3, section 2.3.1.
func hash(text string) string {
	sum := sha256.Sum256([]byte(text))
	return "'sha256-" + base64.StdEncoding.EncodeToString(sum[:]) + "'"
}
