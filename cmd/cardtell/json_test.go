package main

// identifyJSON is what scripts read of the answer of identify, by the keys that doc/scripts.md and the contract name.
type identifyJSON struct {
	Line  int
	Error string
	Taken []struct {
		Text, As    string
		Probability float64
	}
	Candidates  []candidateJSON
	Unknown     float64
	Warnings    []string
	Given       []int
	Several     float64
	Doubtful    []int
	Populations []identifyJSON
}

type candidateJSON struct {
	Format, Fault string
	Probability   float64
	Cards         []struct {
		Facility, Number string
		Forms            map[string]string
	}
}

// conversionJSON is one result of convert.
type conversionJSON struct {
	Input, Format, From, Value, To, Taken string
	Probability                           float64
}
