// Command elsewhere does what go vet does, tests included, for a system other than its own: it says what would not
// compile there, and what vet finds. go vet compiles all that packages import, for each system anew, which takes a
// minute or two; this reads it from source in some ten seconds. What only a linker sees it does not.
//
//	go run -C .ci/elsewhere . FOLDER GOOS/GOARCH PACKAGE...
package main

import (
	"fmt"
	"log"
	"os"
	"strings"

	"golang.org/x/tools/go/analysis/checker"
	"golang.org/x/tools/go/analysis/suite/vet"
	"golang.org/x/tools/go/packages"
)

func main() {
	log.SetFlags(0)
	if len(os.Args) < 4 || !strings.Contains(os.Args[2], "/") {
		log.Fatal("elsewhere FOLDER GOOS/GOARCH PACKAGE...")
	}
	ok, err := check(os.Args[1], os.Args[2], os.Args[3:])
	if err != nil {
		log.Fatal("elsewhere: ", err)
	}
	if !ok {
		os.Exit(1)
	}
}

// check prints what is wrong with packages of a module on a system.
func check(folder, where string, names []string) (ok bool, err error) {
	system, processor, _ := strings.Cut(where, "/")
	all, err := packages.Load(&packages.Config{
		Mode: packages.LoadAllSyntax | packages.NeedModule, Tests: true, Dir: folder,
		Env: append(os.Environ(), "CGO_ENABLED=0", "GOOS="+system, "GOARCH="+processor),
	}, names...)
	if err != nil || packages.PrintErrors(all) > 0 {
		return false, err
	}
	found, err := checker.Analyze(vet.Suite, all, nil)
	if err != nil {
		return false, err
	}
	ok = true
	for act := range found.All() {
		if !act.IsRoot {
			continue
		}
		if act.Err != nil {
			return false, fmt.Errorf("%s on %s: %w", act, where, act.Err)
		}
		for _, d := range act.Diagnostics {
			ok = false
			fmt.Printf("%s: on %s: %s\n", act.Package.Fset.Position(d.Pos), where, d.Message)
		}
	}
	return ok, nil
}
