package main

import (
	"bufio"
	"maps"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// licencePhrases are words that a licence of each kind has and no other does, by its SPDX name. Texts are compared with
// single spaces between words, and upper and lower case alike.
var licencePhrases = map[string]string{
	"MIT":        "Permission is hereby granted, free of charge, to any person obtaining a copy of this software and associated documentation files",
	"BSD":        "Redistribution and use in source and binary forms, with or without modification, are permitted provided that the following conditions are met",
	"Apache-2.0": "Apache License, Version 2.0",
	"Apache":     "Apache License Version 2.0, January 2004",
	"Unlicense":  "This is free and unencumbered software released into the public domain",
	"MPL-2.0":    "Mozilla Public License Version 2.0",
	"GPL":        "GNU General Public License Version", // others name it with a comma
	"LGPL":       "GNU Lesser General Public License Version",
	"AGPL":       "GNU Affero General Public License Version",
}

// passedOn are the licences that a program may be passed on under with no more than a notice; testsOnly those that
// serve in tests besides.
var (
	passedOn  = []string{"MIT", "BSD-2-Clause", "BSD-3-Clause", "Apache-2.0", "Unlicense"}
	testsOnly = append([]string{"MPL-2.0"}, passedOn...)
)

// licenceKinds returns the licences that a text holds, sorted.
func licenceKinds(text string) []string {
	text = strings.Join(strings.Fields(strings.ReplaceAll(text, "\n> ", "\n")), " ") // some are quoted, as in a letter
	found := map[string]bool{}
	for kind, phrase := range licencePhrases {
		if !strings.Contains(strings.ToLower(text), strings.ToLower(phrase)) {
			continue
		}
		switch kind {
		case "Apache":
			kind = "Apache-2.0"
		case "BSD": // the third clause forbids advertising with the names of the authors
			kind = "BSD-2-Clause"
			if strings.Contains(text, "to endorse or promote products derived from this software") {
				kind = "BSD-3-Clause"
			}
		}
		found[kind] = true
	}
	return slices.Sorted(maps.Keys(found))
}

// Every module that is linked into the program, on any system, is in the table with the licence that its text is, and
// that licence allows passing the program on. Those that tests have besides are in a part of their own.
func TestLicences(t *testing.T) {
	if _, err := exec.LookPath("go"); err != nil {
		t.Skip("no go command to list the modules")
	}
	shipped := map[string]string{}
	for _, system := range []string{"linux", "windows", "darwin"} {
		maps.Copy(shipped, linkedModules(t, system, "list", "-deps", "-f", moduleFormat, "."))
	}
	tests := linkedModules(t, "", "list", "-deps", "-test", "-f", moduleFormat, "../../...")
	maps.DeleteFunc(tests, func(path, _ string) bool { return shipped[path] != "" })
	text, err := os.ReadFile("../../testdata/licences.txt")
	require.NoError(t, err)
	want := licenceTable(shipped, passedOn, t) + "\n" + testsHead + licenceTable(tests, testsOnly, t)
	_, got, _ := strings.Cut(string(text), "\n\n")
	assert.Equal(t, want, got, "testdata/licences.txt: read the licences of what differs before you change it")
}

const (
	testsHead    = "# Linked into the tests, or into what packs the page, alone: in no program.\n\n"
	moduleFormat = "{{with .Module}}{{if not .Main}}{{.Path}} {{.Dir}}{{end}}{{end}}"
)

// linkedModules returns the folders of modules by path.
func linkedModules(t *testing.T, system string, args ...string) map[string]string {
	t.Helper()
	cmd := exec.Command("go", args...)
	cmd.Env = append(os.Environ(), "CGO_ENABLED=0")
	if system != "" {
		cmd.Env = append(cmd.Env, "GOOS="+system, "GOARCH=amd64")
	}
	cmd.Stderr = os.Stderr
	out, err := cmd.Output()
	require.NoError(t, err)
	all := map[string]string{}
	for lines := bufio.NewScanner(strings.NewReader(string(out))); lines.Scan(); {
		if path, dir, ok := strings.Cut(lines.Text(), " "); ok {
			all[path] = dir
		}
	}
	require.NotEmpty(t, all)
	return all
}

// licenceTable writes a line for each module. A licence that is none of those allowed fails the test.
func licenceTable(modules map[string]string, allowed []string, t *testing.T) string {
	t.Helper()
	var b strings.Builder
	for _, path := range slices.Sorted(maps.Keys(modules)) {
		kinds := licenceKinds(licenceText(t, modules[path]))
		assert.NotEmpty(t, kinds, "%s: its licence is none that is known", path)
		for _, kind := range kinds {
			assert.Contains(t, allowed, kind, path)
		}
		b.WriteString(path + " " + strings.Join(kinds, " AND ") + "\n")
	}
	return b.String()
}

// licenceText returns what a module's folder has by way of licences.
func licenceText(t *testing.T, dir string) string {
	t.Helper()
	entries, err := os.ReadDir(dir)
	require.NoError(t, err)
	var all strings.Builder
	for _, e := range entries {
		base := strings.ToUpper(strings.TrimSuffix(e.Name(), filepath.Ext(e.Name())))
		if !e.IsDir() && slices.Contains([]string{"LICENSE", "LICENCE", "UNLICENSE", "COPYING"}, base) {
			text, err := os.ReadFile(filepath.Join(dir, e.Name()))
			require.NoError(t, err)
			all.Write(append(text, '\n'))
		}
	}
	return all.String()
}

// The kinds are told apart by their words, and a text that is none of them has no kind.
func TestLicenceKinds(t *testing.T) {
	const bsd = "Redistribution and use in source and binary forms, with or\nwithout modification, are permitted provided that the following\n\tconditions are met:"
	for text, want := range map[string][]string{
		bsd: {"BSD-2-Clause"},
		bsd + " 3. Neither the name of X may be used to endorse or promote products derived from\n  this software": {"BSD-3-Clause"},
		"Apache License\n  Version 2.0, January 2004":                                                              {"Apache-2.0"},
		"licensed under the Apache License, Version 2.0":                                                           {"Apache-2.0"},
		"GNU GENERAL PUBLIC LICENSE\nVersion 3":                                                                    {"GPL"},
		"Mozilla Public License Version 2.0\n" +
			bsd: {"BSD-2-Clause", "MPL-2.0"},
		"All rights reserved. Ask us before you do anything.\n": nil,
	} {
		assert.Equal(t, want, licenceKinds(text), text)
	}
}
