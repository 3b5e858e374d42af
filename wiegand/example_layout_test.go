package wiegand_test

import (
	"encoding/json"
	"errors"
	"fmt"

	"github.com/cardtell/cardtell/wiegand"
)

// The quickest way through many reads: numbers and failed checks, and no record.
func ExampleLayout_Uint64s() {
	reads := []wiegand.Bits{wiegand.MustParseBits("26:32D687E"), wiegand.MustParseBits("26:32D687F")}
	var v [2]uint64
	for i := range reads {
		failed, err := layout26.Uint64s(v[:], &reads[i])
		fmt.Println(v, failed, err)
	}
	// Output:
	// [150 46143] {} <nil>
	// [150 46143] {1} <nil>
}

// Which bits can a misread be in, when one check fails and the others hold?
func ExampleLayout_Touching() {
	r, err := layout26.Decode(wiegand.MustParseBits("26:32D687F"))
	fmt.Println(r.Failed(), r.Failed().Len(), layout26.Holds(r.Bits()), err)
	for i := range layout26.Len() {
		if layout26.Touching(i) == r.Failed() {
			fmt.Print(i+1, " ")
		}
	}
	// Output:
	// {1} 1 false <nil>
	// 14 15 16 17 18 19 20 21 22 23 24 25 26
}

// A spec is plain data. Here it comes from JSON; bits are written as the trade writes them.
func ExampleSpec() {
	var spec wiegand.Spec
	err := json.Unmarshal([]byte(`{"length": 8, "fields": [{"name": "number", "bits": "2-7", "order": "lsb"}],
		"checks": [{"kind": "even", "bit": 1, "over": "2-4"}, {"kind": "fixed", "bits": "8", "value": "1"}]}`), &spec)
	if err != nil {
		fmt.Println(err)
		return
	}
	b, err := wiegand.MustCompile(spec).Encode(5)
	fmt.Println(b, err)
	text, err := json.Marshal(spec.Checks)
	fmt.Println(string(text), err)
	// Output:
	// 01010001 <nil>
	// [{"kind":"even","bit":1,"over":"2-4"},{"kind":"fixed","bits":"8","value":"1"}] <nil>
}

// Every error is an *Error of one of four kinds.
func ExampleError() {
	_, err := layout26.Encode(256, 1)
	var e *wiegand.Error
	fmt.Println(errors.Is(err, wiegand.ErrRange), errors.As(err, &e))
	fmt.Println(e.Op, e.Input, "-", e.Reason)
	// Output:
	// true true
	// facility 256 - does not fit 8 bits: 0 to 255
}

// Fields can be set as numbers, as text or as bits; the parities are computed anew each time.
func ExampleRecord_WithUint64() {
	r, err := layout26.Blank().WithUint64(0, 150)
	fmt.Println(r.Bits().Hex(), err)
	r, err = r.WithValue(1, wiegand.MustParseBits("16:B43F"))
	fmt.Println(r.Bits().Hex(), r.Value(1), err)
	fmt.Printf("%s of a layout of %d bits\n", r.AppendField(nil, 1), r.Layout().Len())
	// Output:
	// 26:12C0001 <nil>
	// 26:32D687E 1011010000111111 <nil>
	// 46143 of a layout of 26 bits
}
