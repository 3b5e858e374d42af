package main

import (
	"encoding/json"
	"slices"
)

// UnmarshalJSON reads an object of texts, so that tests can read what the program prints; the keys come sorted.
func (t *textsJSON) UnmarshalJSON(b []byte) error {
	var m map[string]string
	if err := json.Unmarshal(b, &m); err != nil {
		return err
	}
	for name, text := range m {
		*t = append(*t, textJSON{name, text})
	}
	slices.SortFunc(*t, func(a, b textJSON) int { return slices.Compare([]byte(a.name), []byte(b.name)) })
	return nil
}
