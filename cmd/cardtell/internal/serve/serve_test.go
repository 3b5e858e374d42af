package serve

import (
	"bufio"
	"bytes"
	"encoding/json"
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// answers returns what comes of some lines where every request is answered with its verb, or is the error it asks for.
func answers(t *testing.T, in string) (all []answered) {
	t.Helper()
	var text bytes.Buffer
	out := bufio.NewWriter(&text)
	require.NoError(t, Run(strings.NewReader(in), out, func() func(*Request) (any, error) {
		return func(q *Request) (any, error) {
			if q.Read != "" {
				return nil, fmt.Errorf("%s; give --format or --to", q.Read)
			}
			return q.Do, nil
		}
	}))
	require.NoError(t, out.Flush())
	for line := range strings.Lines(text.String()) {
		var a answered
		require.NoError(t, json.Unmarshal([]byte(line), &a), line)
		all = append(all, a)
	}
	return all
}

// However many requests come, and however long some are, each is answered in its place with its id and line.
func TestEachLineHasItsAnswer(t *testing.T) {
	t.Parallel()
	const n = 3000
	var in strings.Builder
	for i := range n {
		switch i % 5 {
		case 0:
			fmt.Fprintf(&in, `{"id":%d,"do":"decode","read":"no %d"}`+"\n", i, i)
		case 1: // too long, its id first or last
			fmt.Fprintf(&in, `{"id":%d,"do":"%s"}`+"\n", i, strings.Repeat("x", (i%3+1)*MaxLine))
		case 2:
			fmt.Fprintf(&in, `{"do":"%s","id":%d}`+"\n", strings.Repeat("x", (i%3+1)*MaxLine), i)
		default:
			fmt.Fprintf(&in, ` {"id":%d,"do":"encode"} `+"\r\n", i)
		}
		if i%300 == 1 {
			in.WriteString("\n") // a blank line has no answer
		}
	}
	all := answers(t, in.String())
	require.Len(t, all, n)
	blank := 0
	for i, a := range all {
		require.Equal(t, fmt.Sprint(i), string(a.ID))
		if (i-1)%300 == 1 {
			blank++
		}
		switch i % 5 {
		case 0:
			assert.Equal(t, Error{"request", i + 1 + blank, fmt.Sprintf("no %d; give format or to", i)}, *a.Error)
		case 1, 2:
			require.NotNil(t, a.Error, i)
			assert.Equal(t, i+1+blank, a.Error.Line)
			assert.Contains(t, a.Error.Message, "longer than 65536 bytes")
		default:
			assert.Equal(t, "encode", a.Result)
		}
	}
}

// Every verb takes each of its keys, and no other one.
func TestKeys(t *testing.T) {
	t.Parallel()
	values := map[string]string{"top": "1", "length": "1", "fields": "{}", "cards": "[]", "values": "[]", "names": "[]",
		"events": "[]", "pairs": "[]"}
	all := map[string]bool{}
	for _, v := range verbs {
		for _, key := range v.keys {
			all[key] = true
		}
	}
	require.Len(t, all, 15)
	for _, v := range verbs {
		for key := range all {
			value := values[key]
			if value == "" {
				value = `""`
			}
			got := answers(t, fmt.Sprintf(`{"id":"x","do":"%s","%s":%s}`, v.do, key, value))
			require.Len(t, got, 1)
			takes := strings.Contains(" "+strings.Join(v.keys, " ")+" ", " "+key+" ")
			assert.Equal(t, takes, got[0].Error == nil, "%s %s: %v", v.do, key, got[0].Error)
		}
	}
}
