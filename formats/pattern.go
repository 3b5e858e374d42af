package formats

import (
	"regexp"
	"sync"
)

// pattern is a regular expression that is compiled when it is first asked for: most programs need few of them, and a
// short run should not wait for all.
type pattern func() *regexp.Regexp

func lazily(expression string) pattern {
	return sync.OnceValue(func() *regexp.Regexp { return regexp.MustCompile(expression) })
}
