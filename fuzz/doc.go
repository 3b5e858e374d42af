// Package fuzz holds the fuzz targets of the libraries: one file a target, over what the libraries export.
//
// Run one with
//
//	go test ./fuzz -run '^$' -fuzz '^FuzzParseBits$' -fuzzminimizetime=10x -parallel=1
//
// Each target checks properties, not only that nothing panics: what is read is written back, what a layout takes apart
// it puts together again, and every error is of a declared kind, on one line, with the input cut short. Seeds are added
// with a word on each; an input that once failed is kept under testdata/fuzz/<target>/ by a name that says what it is.
//
// The tests are in this package and not in an external one, since an external test package is not instrumented and the
// search would be blind in functions that are inlined into it.
package fuzz
