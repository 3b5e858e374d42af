package formats

import (
	"fmt"
	"slices"

	"github.com/cardtell/cardtell/wiegand"
)

// Which formats a form is for: each returns "", or why a format is not one of them.

func always(*Format) string { return "" }

// unless returns why, where something does not hold.
func unless(holds bool, why string) string {
	if holds {
		return ""
	}
	return why
}

func needsFacility(f *Format) string {
	return unless(f.Facility() >= 0 && f.Number() >= 0, "has no facility beside its number")
}

func needsJoined(f *Format) string {
	return unless(len(f.Joined) > 0, "has no facility beside its number")
}

func needsNumber(f *Format) string {
	return unless(f.Number() >= 0, "has no field called number; use fields")
}

func needsDigits(f *Format) string {
	if why := needsNumber(f); why != "" {
		return why
	}
	return unless(f.Layout.Spec().Fields[f.Number()].Coding != wiegand.Signs5, "holds signs, not a number")
}

func needsFields(f *Format, wrong func(wiegand.Field) bool, why string) string {
	if len(dataFields(f)) == 0 {
		return "has no field whose meaning is known"
	}
	return unless(!slices.ContainsFunc(f.Layout.Spec().Fields, wrong), why)
}

func needsData(f *Format) string {
	return needsFields(f, func(field wiegand.Field) bool { return field.Coding == wiegand.Signs5 },
		"holds signs, not a number")
}

func needsBinary(f *Format) string {
	return needsFields(f, func(field wiegand.Field) bool { return field.Coding != wiegand.Binary },
		"holds decimal digits, not one binary number; use joined, number or fields")
}

func needsWords(f *Format) string {
	if why := needsBinary(f); why != "" {
		return why
	}
	n := dataWidth(f)
	return unless(n <= 32, fmt.Sprintf("has %d data bits; two halves of 16 hold 32", n))
}

func needsLow24(f *Format) string {
	return unless(numberWidth(f) >= 24, "has no card number of 24 bits or more")
}

// needsWide24 is needsLow24 for numbers of which something is dropped: else the form is number.
func needsWide24(f *Format) string {
	return unless(numberWidth(f) > 24, "has no card number of more than 24 bits")
}

func needsSerial(f *Format) string {
	return unless(slices.Contains([]int{32, 40, 56, 64, 80}, numberWidth(f)),
		"has no number that is as wide as a chip serial (4, 5, 7, 8 or 10 bytes)")
}
