//go:build !js

// Command cardtell tells what a door-access card really is: it names the format of reads, printed numbers and chip
// serials, and turns card numbers from one form into another.
package main

import "os"

func main() {
	os.Exit(run(os.Args[1:], os.Stdin, os.Stdout, os.Stderr))
}
