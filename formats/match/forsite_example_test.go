package match_test

import (
	"fmt"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/match"
	"github.com/cardtell/cardtell/formats/reading"
	"github.com/cardtell/cardtell/formats/site"
)

// Whose card a door shows, at a site whose list has pairs and whose door shows ten digits.
func ExampleForSite() {
	s := site.Site{Cards: []formats.Population{{Format: "26-8-16", Facilities: []uint64{121}, Printed: "pair"}}}
	opt, err := match.ForSite(formats.Builtin(), s, reading.Options{}, "decimal10")
	if err != nil {
		fmt.Println(err)
		return
	}
	m := match.New(opt)
	if err := m.AddHolder(match.Row{Line: 2, Name: "Ann Reed", Value: []byte("121,00043")}); err != nil {
		fmt.Println(err)
	}
	fmt.Println(m.Holders()[m.Find([]byte("0007929899"))].Name)
	// Output: Ann Reed
}
