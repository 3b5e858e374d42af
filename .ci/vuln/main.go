// Command vuln says which known vulnerabilities the program can run into. That is a remark and no failure: the database
// changes when nothing here does. It is run by the script check beside it, from the folder that is to be looked at.
package main

import (
	"bytes"
	"cmp"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"maps"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
)

// database is a module that carries the Go vulnerability database, a file for each entry: so it comes from where
// modules come from, and the look-up itself needs no network. It is the newest on purpose, since a pinned one finds
// nothing new.
const database = "golang.org/x/vulndb@latest"

func main() {
	folder, version, err := download()
	if err != nil {
		// No network, or a proxy that does not have it: nothing is known, and that is no fault of what is looked at.
		fmt.Printf("not checked for known vulnerabilities: %v\n", err)
		return
	}
	// A folder of entries without an index is not in govulncheck's documentation; the version that go.mod pins reads it.
	folder = filepath.ToSlash(filepath.Join(folder, "data", "osv"))
	if folder[0] != '/' {
		folder = "/" + folder // a drive
	}
	found, err := scan("file://" + folder)
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(2)
	}
	fmt.Printf("database %s, %d known vulnerabilities in what is called\n", version, len(found))
	raise := 0
	for _, f := range slices.SortedFunc(maps.Values(found), byModule) {
		fmt.Println(f)
		if !f.standard() {
			raise++
		}
	}
	if raise > 0 {
		fmt.Printf("REMARK: %d of them in modules of go.mod: raise those, or do without them\n", raise)
	}
}

// download fetches the database, or finds it where it was fetched before, and returns its folder.
func download() (folder, version string, err error) {
	cmd := exec.Command("go", "mod", "download", "-json", database)
	cmd.Dir = os.TempDir() // in no module, so that none is changed
	var complaints bytes.Buffer
	cmd.Stderr = &complaints
	out, err := cmd.Output()
	var m struct{ Dir, Version, Error string }
	if jsonErr := json.Unmarshal(out, &m); jsonErr != nil && err == nil {
		err = jsonErr
	}
	switch {
	case m.Error != "":
		return "", "", errors.New(m.Error)
	case err != nil:
		return "", "", fmt.Errorf("go mod download %s: %w %s", database, err, bytes.TrimSpace(complaints.Bytes()))
	}
	return m.Dir, m.Version, nil
}

// finding is what govulncheck found: an entry of the database, and a function in it that the program can come to.
type finding struct {
	OSV          string `json:"osv"`
	FixedVersion string `json:"fixed_version"`
	Trace        []struct {
		Module   string `json:"module"`
		Version  string `json:"version"`
		Package  string `json:"package"`
		Function string `json:"function"`
		Receiver string `json:"receiver"`
	} `json:"trace"`
}

func (f finding) called() bool { return len(f.Trace) > 0 && f.Trace[0].Function != "" }
func (f finding) standard() bool {
	return f.Trace[0].Module == "stdlib" || f.Trace[0].Module == "toolchain"
}

func (f finding) String() string {
	at := f.Trace[0]
	fixed := "not fixed"
	if f.FixedVersion != "" {
		fixed = "fixed in " + f.FixedVersion
	}
	kind := "FOUND "
	if f.standard() {
		kind = "remark" // the Go that is installed is not this project's to choose
	}
	name := at.Function
	if at.Receiver != "" {
		name = "(" + at.Receiver + ")." + name
	}
	return fmt.Sprintf("%s  %s  %s %s, %s: %s.%s", kind, f.OSV, at.Module, at.Version, fixed, at.Package, name)
}

func byModule(a, b finding) int {
	return cmp.Or(cmp.Compare(a.Trace[0].Module, b.Trace[0].Module), cmp.Compare(a.OSV, b.OSV))
}

// scan runs govulncheck on the packages of this folder and returns what is called, by entry: one way to it is enough.
func scan(db string) (map[string]finding, error) {
	cmd := exec.Command("go", "tool", "-modfile=.ci/vuln/go.mod", "govulncheck", "-db", db, "-format", "json", "./...")
	cmd.Stderr = os.Stderr
	out, err := cmd.Output()
	if err != nil {
		return nil, fmt.Errorf("govulncheck: %w", err)
	}
	found := map[string]finding{}
	scanned := false
	for dec := json.NewDecoder(bytes.NewReader(out)); ; {
		var message struct {
			Finding *finding `json:"finding"`
			SBOM    *struct {
				Roots []string `json:"roots"`
			} `json:"SBOM"`
		}
		err := dec.Decode(&message)
		switch {
		case errors.Is(err, io.EOF) && !scanned:
			return nil, errors.New("govulncheck looked at no package")
		case errors.Is(err, io.EOF):
			return found, nil
		case err != nil:
			return nil, fmt.Errorf("govulncheck: %w", err)
		case message.SBOM != nil:
			scanned = scanned || len(message.SBOM.Roots) > 0
		case message.Finding != nil && message.Finding.called():
			key := message.Finding.OSV + " " + message.Finding.Trace[0].Module
			if old, ok := found[key]; !ok || message.Finding.String() < old.String() { // they come in any order
				found[key] = *message.Finding
			}
		}
	}
}
