package reading_test

import (
	"fmt"
	"slices"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/reading"
	"github.com/cardtell/cardtell/formats/site"
)

// Where no site file names the facilities, the list does: one that hardly any card has is not believed.
func ExamplePlan_Counted() {
	plan, err := reading.New(formats.Builtin(), site.Site{}, reading.Options{Format: "26-8-16", Forms: []string{"pair"}})
	if err != nil {
		fmt.Println(err)
		return
	}
	texts := []string{"112,00055"}
	for n := range 30 {
		texts = append(texts, fmt.Sprintf("121,%05d", 40+n))
	}
	plan = plan.Settled(texts).Counted(slices.Values(texts))
	var s reading.Seen
	fmt.Println(plan.Read([]byte("121,00044"), &s))
	fmt.Println(plan.Read([]byte("112,00055"), &s))
	fmt.Println(reading.OddFacilities(map[uint64]int{121: 30, 112: 1}))
	// Output:
	// <nil>
	// facility 112 is hardly ever on this list, whose other cards have 121; is it typed wrong?
	// [112]
}
