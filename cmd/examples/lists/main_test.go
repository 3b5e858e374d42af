package main

import (
	"os"
	"strings"
	"testing"
)

func TestMain(m *testing.M) {
	if err := os.Chdir("../../.."); err != nil {
		panic(err)
	}
	os.Exit(m.Run())
}

// The swapped bytes of 121,00039 are 0x270079, 2556025; 121,01061 is 121 times 65536 and 1061, 7930917, 0x790425.
func Example() {
	main()
	// Output:
	// 50 121,212    the same card
	// 53 112,00207  typed wrong
	// 51 121,00388  no name
	// 55 3405643012 not enterable
	// 56 0719264380 not enterable
	//  0            over capacity
	// 32 7930174    another form
	// 11 12.05.2024 unusable
	// 54 121,70515  unusable
	// Gita Ingram: byte order, 100 %
	// 121,01061 [121,01061 0007930917 790425]
	// 121,01062 [121,01062 0007930918 790426]
}

// All of that takes less than forty lines, and nothing of the command line.
func TestLength(t *testing.T) {
	text, err := os.ReadFile("cmd/examples/lists/main.go")
	if err != nil {
		t.Fatal(err)
	}
	_, body, _ := strings.Cut(string(text), "func main() {\n")
	if n := strings.Count(body, "\n"); n >= 40 {
		t.Errorf("%d lines", n)
	}
	if strings.Contains(string(text), "cmd/") {
		t.Error("a package of the command line is imported")
	}
}
