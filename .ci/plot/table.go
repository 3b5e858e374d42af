package main

import (
	"encoding/csv"
	"log"
	"os"
	"strconv"
	"strings"
)

// table is a CSV file with a head; cells are found by their column's name.
type table struct {
	path string
	at   map[string]int
	rows [][]string
}

func readTable(path string) *table {
	text := string(must(os.ReadFile(path)))
	all := must(csv.NewReader(strings.NewReader(text)).ReadAll())
	t := &table{path: path, at: map[string]int{}, rows: all[1:]}
	for i, name := range all[0] {
		t.at[name] = i
	}
	return t
}

// has reports whether the table has a column.
func (t *table) has(column string) bool {
	_, ok := t.at[column]
	return ok
}

// number returns a cell of a row as a number.
func (t *table) number(row []string, column string) float64 {
	if !t.has(column) {
		log.Fatalf("%s: no column %s", t.path, column)
	}
	return must(strconv.ParseFloat(row[t.at[column]], 64))
}

// series returns the rows by series, in the order of the table, and the series' names.
func (t *table) series() (names []string, rows map[string][][]string) {
	rows = map[string][][]string{}
	for _, r := range t.rows {
		name := r[t.at["series"]]
		if _, ok := rows[name]; !ok {
			names = append(names, name)
		}
		rows[name] = append(rows[name], r)
	}
	return names, rows
}
