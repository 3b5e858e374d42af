package main

import (
	"iter"
	"log"
)

// numbers are the second column of rows.
func numbers(rows [][]string) iter.Seq[string] {
	return func(yield func(string) bool) {
		for _, row := range rows {
			if !yield(row[1]) {
				return
			}
		}
	}
}

func must[T any](v T, err error) T {
	if err != nil {
		log.Fatal(err)
	}
	return v
}
