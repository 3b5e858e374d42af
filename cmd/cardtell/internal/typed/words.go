package typed

import (
	"errors"
	"slices"
	"strings"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/pattern"
	"github.com/cardtell/cardtell/formats"
)

// spacedBytes are bytes in hex, as many as a read or a serial has: no cards by themselves.
var spacedBytes = pattern.Lazily(`^[0-9A-Fa-f]{2}(?: [0-9A-Fa-f]{2}){2,9}(?: [0-9A-Fa-f])?$`)

// OneOfWords puts arguments together that are one card in several words, which nobody put between quotes.
func OneOfWords(args []string) []string {
	all := strings.Join(args, " ")
	if len(args) < 2 || spacedBytes().MatchString(all) && strings.ContainsAny(all, "ABCDEFabcdef") {
		return []string{all}[:min(1, len(args))]
	}
	if _, err := formats.Spellings(args[0]); err == nil && !slices.ContainsFunc(args, isWord) {
		return args
	}
	if _, err := formats.Spellings(all); err == nil {
		return []string{all}
	}
	if !isWord(args[0]) || slices.ContainsFunc(args, isMistyped) {
		return args
	}
	_, err := formats.FromLog(all)
	if err != nil && !errors.Is(err, formats.ErrMissing) && !errors.Is(err, formats.ErrAmbiguous) {
		return args
	}
	return []string{all}
}

// isWord reports whether an argument is no card, and none that is mistyped: a word, the name of a value, a time.
func isWord(arg string) bool {
	if _, err := formats.Spellings(arg); err == nil {
		return false
	}
	name, _, _ := strings.Cut(arg, "=")
	_, err := formats.FromLog(arg + " ")
	return !strings.ContainsAny(arg, "0123456789") || name != arg && !strings.ContainsAny(name, "0123456789") ||
		errors.Is(err, formats.ErrMissing)
}

func isMistyped(arg string) bool {
	_, err := formats.Spellings(arg)
	return err != nil && !isWord(arg)
}

// labelWord is a word with which a card begins that is written with its labels: no mistyped command is like that.
var labelWord = pattern.Lazily(`(?i)^(?:fc|fac|facility|card|badge|fob|tag|no|nr|number|id|cn|uid|csn|hex|dec|bin)\.?$|[:=]`)

// IsCard takes arguments of which the first one is no command for a card, if it has a digit and can be one, or
// if they are one card with its labels.
func IsCard(args []string) bool {
	words := args
	if i := slices.IndexFunc(args, func(arg string) bool { return strings.HasPrefix(arg, "-") }); i >= 0 {
		words = args[:i]
	}
	if len(words) == 0 {
		return false
	}
	_, err := formats.Spellings(words[0])
	return err == nil && strings.ContainsAny(words[0], "0123456789") ||
		labelWord().MatchString(words[0]) && strings.ContainsAny(OneOfWords(words)[0], "0123456789")
}
