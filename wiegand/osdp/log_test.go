package osdp_test

import (
	"errors"
	"fmt"
	"io"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/wiegand/osdp"
)

// Logs and dumps hold the packets of osdp_test.go, in the forms of general tools: the dumps are as the manuals of
// hexdump (canonical) and xxd show theirs.
func TestLogs(t *testing.T) {
	t.Parallel()
	all := allPackets(t)
	var whole []byte
	for _, p := range all {
		whole = append(whole, p...)
	}
	perPacket := func(format string) (text string) {
		for i, p := range all {
			text += fmt.Sprintf(format, i, p) + "\n"
		}
		return text
	}
	dump := func(line func(at int, b []byte) string) (text string) {
		for at := 0; at < len(whole); at += 16 {
			text += line(at, whole[at:min(at+16, len(whole))]) + "\n"
		}
		return text
	}
	ascii := func(b []byte) string {
		return strings.Map(func(r rune) rune {
			if r < ' ' || r > '~' {
				return '.'
			}
			return r
		}, string(b))
	}
	for name, text := range map[string]string{
		"direction":   perPacket("TX%02d: % X"),
		"time of day": perPacket("[12:00:%02d.250] <- % x"),
		"date":        perPacket("2026-03-01 12:00:%02d RX % x"),
		"seconds":     perPacket("%d.125 % x"),
		"cells":       perPacket("%d.125,rx,%# X"),
		"lengths":     perPacket("packet %d [16 bytes]: % X"),
		"names":       perPacket("at=%d.125 data=%X"),
		"in C":        strings.ReplaceAll(perPacket("/* %d */ { %# x },"), " 0x", ", 0x"),
		"one word":    perPacket("%d> %x"),
		"hexdump": dump(func(at int, b []byte) string {
			return fmt.Sprintf("%08x  % x  |%s|", at, b, ascii(b))
		}),
		"xxd": dump(func(at int, b []byte) string {
			s := fmt.Sprintf("%08x:", at)
			for i := 0; i < len(b); i += 2 {
				s += fmt.Sprintf(" %x", b[i:min(i+2, len(b))])
			}
			return s + "  " + ascii(b)
		}),
		"places": dump(func(at int, b []byte) string { return fmt.Sprintf("%04X: % X", at, b) }),
	} {
		s, n := osdp.NewScanner(osdp.NewLog(strings.NewReader("begin\n\n"+text))), 0
		for ; ; n++ {
			p, err := s.Next()
			if errors.Is(err, io.EOF) {
				break
			}
			require.NoError(t, err, name)
			b, err := p.Append(nil)
			require.NoError(t, err, name)
			require.Equal(t, all[n], b, "%s, packet %d", name, n)
		}
		require.Len(t, all, n, name)
	}
	_, err := osdp.NewLog(strings.NewReader(strings.Repeat("5", 1<<17))).Next()
	require.ErrorIs(t, err, osdp.ErrSyntax)
}
