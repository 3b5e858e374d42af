package main

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
)

// notices returns the licences of the language's own library and of the modules that are in the program, which ask to
// go wherever it goes: the same text once, under all that it is for.
func notices() (string, error) {
	list := exec.Command("go", "list", "-deps", "-f",
		`{{with .Module}}{{if not .Main}}{{.Path}} {{.Version}}{{"\t"}}{{.Dir}}{{end}}{{end}}`, program)
	list.Env = append(os.Environ(), "GOOS=js", "GOARCH=wasm")
	text, err := list.Output()
	if err != nil {
		return "", fmt.Errorf("%s: %w", strings.Join(list.Args, " "), err)
	}
	root, err := goRoot()
	if err != nil {
		return "", err
	}
	modules := append(strings.Split(strings.TrimSpace(string(text)), "\n"), "Go\t"+root)
	slices.Sort(modules)
	var licences []string
	of := map[string][]string{}
	for _, module := range slices.Compact(modules) {
		name, dir, ok := strings.Cut(module, "\t")
		if !ok {
			continue
		}
		licence, err := licenceIn(dir)
		if err != nil {
			return "", fmt.Errorf("%s: %w", name, err)
		}
		if of[licence] == nil {
			licences = append(licences, licence)
		}
		of[licence] = append(of[licence], name)
	}
	var b strings.Builder
	for _, licence := range licences {
		fmt.Fprintf(&b, "%s\n\n%s\n\n", strings.Join(of[licence], ", "), licence)
	}
	return strings.TrimSpace(b.String()), nil
}

func licenceIn(dir string) (string, error) {
	files, err := os.ReadDir(dir)
	if err != nil {
		return "", err
	}
	var parts []string
	for _, file := range files {
		name := strings.ToLower(file.Name())
		if file.IsDir() || !slices.ContainsFunc([]string{"license", "licence", "copying", "notice"},
			func(word string) bool { return strings.HasPrefix(name, word) }) {
			continue
		}
		text, err := os.ReadFile(filepath.Join(dir, file.Name()))
		if err != nil {
			return "", err
		}
		parts = append(parts, strings.TrimSpace(strings.ReplaceAll(string(text), "\r", "")))
	}
	if len(parts) == 0 {
		return "", fmt.Errorf("%s: no licence in it", dir)
	}
	return strings.Join(parts, "\n\n"), nil
}
