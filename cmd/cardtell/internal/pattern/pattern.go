// Package pattern has regular expressions that are compiled when they are first asked for: most runs need few of them.
package pattern

import (
	"regexp"
	"sync"
)

// Lazily returns a regular expression that the first call of it compiles.
func Lazily(expression string) func() *regexp.Regexp {
	return sync.OnceValue(func() *regexp.Regexp { return regexp.MustCompile(expression) })
}
