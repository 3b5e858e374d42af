// Package examples holds small programs that embed the libraries, and the test that holds the libraries' documentation
// to its promises: see browser.
package examples
