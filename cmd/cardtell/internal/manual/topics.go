package manual

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/say"
	"github.com/cardtell/cardtell/formats"
)

// Describe gives a command, which is called so, the words of its page.
func Describe(c *cobra.Command, called string) {
	text, err := pages.ReadFile("commands/" + strings.ReplaceAll(called, " ", "-") + ".txt")
	if err != nil {
		return // a topic
	}
	words, examples, _ := strings.Cut(strings.TrimRight(string(text), "\n"), "\n\nExamples\n")
	c.Short, c.Long, _ = strings.Cut(words, "\n\n")
	c.Example = examples
}

// Topics returns a command for each topic. They do nothing.
func Topics() (all []*cobra.Command) {
	files, _ := topics.ReadDir("topics") // it is in the program
	for _, f := range files {
		text, _ := topics.ReadFile("topics/" + f.Name())
		short, long, _ := strings.Cut(strings.TrimSpace(string(text)), "\n\n")
		all = append(all, &cobra.Command{
			Use: strings.TrimSuffix(f.Name(), ".txt"), Short: short, Long: strings.Replace(long, "{forms}", forms(), 1),
		})
	}
	return all
}

// forms lists the forms with the card that the whole program uses as its example, and names those that it does not
// have.
func forms() string {
	var lines, others []string
	for _, f := range formats.Forms() {
		if f.Example == "" {
			others = append(others, f.Name)
			continue
		}
		lines = append(lines, fmt.Sprintf("  %-20s %s", f.Name, say.Clip(f.Example, say.Width-25)))
	}
	lines = append(lines, "")
	lines = append(lines, say.Wrap("Of longer numbers and chip serials: "+strings.Join(others, ", ")+".", say.Width)...)
	return strings.Join(lines, "\n")
}
