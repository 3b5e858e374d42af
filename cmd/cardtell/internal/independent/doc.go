// Package independent has tests, and what asks Python for them and for those of the program: it compares the
// libraries and the program with another language. What layouts say of a read is said again by
// testdata/independent/layouts.py, which was written from the published descriptions and shares nothing with the Go
// code; what is read and written as CSV, TOML, XLSX, VCD or with a CRC is read again by Python's standard library, or
// by a few naive lines.
//
// The tests are skipped where python3 is not installed.
package independent
