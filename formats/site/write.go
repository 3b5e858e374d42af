package site

import (
	"fmt"
	"strconv"
	"strings"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/internal/tomlfile"
)

// Starter is a site file to begin with. Everything in it is an example to be changed.
const Starter = `# What is in use at this site. cardtell reads it with --site FILE.
# Everything below is an example: change it to what your site has.

name = "Harbour Row Workshops"

# A lot of cards that were bought alike. Repeat [[cards]] for every further lot.
[[cards]]
format   = "26-8-16"            # "cardtell identify" tells it from a few cards, "cardtell formats" lists all
facility = 121                  # the same for all of them; several as [121, 122]; leave it out where there is none
numbers  = "1-500, 1001-1100"   # the card numbers you bought, in blocks
printed  = "pair"               # the form that is printed on them

# A door and its controller. Repeat [[doors]] for every further door.
[[doors]]
name     = "North stair"
enter    = "pair"               # the form in which its controller wants a card typed in
capacity = 250                  # how many cardholders it holds: see its manual
`

// Append appends the site as a file that [Parse] reads back. Lines of comment, if any, come first.
func (s Site) Append(dst []byte, comment ...string) []byte {
	for _, line := range comment {
		dst = append(dst, strings.TrimRight("# "+tomlfile.OneLine(line), " ")+"\n"...)
	}
	if s.Name != "" {
		dst = fmt.Appendf(dst, "\nname = %s\n", tomlfile.Quote(s.Name))
	}
	for _, p := range s.Cards {
		dst = fmt.Appendf(dst, "\n[[cards]]\nformat   = %s\n", tomlfile.Quote(p.Format))
		switch len(p.Facilities) {
		case 0:
		case 1:
			dst = fmt.Appendf(dst, "facility = %d\n", p.Facilities[0])
		default:
			dst = fmt.Appendf(dst, "facility = [%s]\n", joined(p.Facilities))
		}
		if len(p.Numbers) > 0 {
			dst = fmt.Appendf(dst, "numbers  = %s\n", tomlfile.Quote(formats.FormatRanges(p.Numbers)))
		}
		if p.Printed != "" {
			dst = fmt.Appendf(dst, "printed  = %s\n", tomlfile.Quote(p.Printed))
		}
	}
	for _, d := range s.Doors {
		dst = fmt.Appendf(dst, "\n[[doors]]\nname     = %s\n", tomlfile.Quote(d.Name))
		if d.Enter != "" {
			dst = fmt.Appendf(dst, "enter    = %s\n", tomlfile.Quote(d.Enter))
		}
		if d.Capacity > 0 {
			dst = fmt.Appendf(dst, "capacity = %d\n", d.Capacity)
		}
	}
	return dst
}

func joined(all []uint64) string {
	var parts []string
	for _, v := range all {
		parts = append(parts, strconv.FormatUint(v, 10))
	}
	return strings.Join(parts, ", ")
}
