package main

import (
	"encoding/csv"
	"fmt"
	"os"
	"strconv"
)

// table is a CSV file with a head; cells are found by their column's name.
type table struct {
	path string
	at   map[string]int
	rows [][]string
}

func readTable(path string) (*table, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close() //nolint:errcheck // it was only read
	all, err := csv.NewReader(f).ReadAll()
	if err != nil {
		return nil, fmt.Errorf("%s: %w", path, err)
	}
	if len(all) < 2 {
		return nil, fmt.Errorf("%s: no rows", path)
	}
	t := &table{path: path, at: map[string]int{}, rows: all[1:]}
	for i, name := range all[0] {
		t.at[name] = i
	}
	return t, nil
}

// has reports whether the table has a column.
func (t *table) has(column string) bool {
	_, ok := t.at[column]
	return ok
}

// number returns a cell of a row as a number.
func (t *table) number(row []string, column string) (float64, error) {
	i, ok := t.at[column]
	if !ok {
		return 0, fmt.Errorf("%s: no column %s", t.path, column)
	}
	v, err := strconv.ParseFloat(row[i], 64)
	if err != nil {
		return 0, fmt.Errorf("%s: column %s: %w", t.path, column, err)
	}
	return v, nil
}

// numbers returns some cells of a row as numbers.
func (t *table) numbers(row []string, columns ...string) ([]float64, error) {
	v := make([]float64, len(columns))
	var err error
	for i, c := range columns {
		if v[i], err = t.number(row, c); err != nil {
			return nil, err
		}
	}
	return v, nil
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
