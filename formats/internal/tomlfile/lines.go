package tomlfile

import (
	"bytes"
	"fmt"
	"strings"

	"github.com/pelletier/go-toml/v2/unstable"
)

// Lines are the lines of a file in which its table heads and keys stand, by a path such as doors.0.enter.
type Lines map[string]int

// KeyLines returns where everything stands in a text that is known to be sound: the decoder does not say where a value
// came from once it is read.
func KeyLines(text []byte) Lines {
	lines := Lines{}
	arrays := map[string]int{} // how many heads of each [[name]] were seen
	var p unstable.Parser
	p.Reset(text)
	table, line, at := "", 1, 0
	for p.NextExpression() {
		e := p.Expression()
		path, offset := keyPath(e)
		line += bytes.Count(text[at:max(at, offset)], []byte("\n"))
		at = max(at, offset)
		switch e.Kind {
		case unstable.ArrayTable:
			table = fmt.Sprintf("%s.%d", path, arrays[path])
			arrays[path]++
			lines[table] = line
		case unstable.Table: // the decoder takes [cards] for the first of [[cards]]
			table = path + ".0"
			lines[table] = line
		case unstable.KeyValue:
			lines[strings.TrimPrefix(table+"."+path, ".")] = line
		}
	}
	return lines
}

func keyPath(e *unstable.Node) (path string, offset int) {
	var parts []string
	for it := e.Key(); it.Next(); {
		if parts == nil {
			offset = int(it.Node().Raw.Offset)
		}
		parts = append(parts, string(it.Node().Data))
	}
	return strings.Join(parts, "."), offset
}

// Of returns the line of a key, or of what it stands in; 0 where neither is there.
func (l Lines) Of(path string) int {
	for path != "" {
		if n := l[path]; n > 0 {
			return n
		}
		path = path[:max(strings.LastIndexByte(path, '.'), 0)]
	}
	return 0
}
