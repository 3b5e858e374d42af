package main

import (
	"bytes"
	"fmt"
	"strings"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/reading"
	"github.com/cardtell/cardtell/formats/relate"
)

// ruleConverter converts by a rule that relate has found, without knowing what format the cards have.
type ruleConverter struct {
	rule   relate.Rule
	shape  reading.Shape // of the numbers that the rule reads
	loose  bool          // the list has lost the zeros before them
	asIs   bool
	repair string // what was repaired in the value converted last
}

func (a *app) newRuleConverter(name string, cat formats.Catalogue, asIs bool) (*ruleConverter, error) {
	text, err := a.readSmall(name, maxDefinitions)
	if err != nil {
		return nil, err
	}
	rule, err := relate.ParseRule(name, text, cat)
	if err != nil {
		return nil, err
	}
	r := &ruleConverter{rule: rule, asIs: asIs}
	switch from := rule.From(); from.Kind {
	case relate.Decimal:
		r.shape = reading.Shape{Decimal: true, Width: from.Digits}
	case relate.Hex:
		r.shape = reading.Shape{Hex: true, Width: from.Digits}
	case relate.JoinedText:
		r.shape = reading.Shape{Decimal: true}
	case relate.SerialText:
		r.shape = reading.Shape{Hex: true}
	}
	return r, nil
}

// Convert appends what the rule makes of a number as the list has it. What can't be converted is a [*reading.Error].
func (r *ruleConverter) Convert(dst, value []byte) ([]byte, error) {
	m := reading.Mended{Value: value}
	if !r.asIs {
		m = reading.Mend(value, r.shape)
	}
	switch {
	case m.Doubt != "":
		if strings.TrimSpace(string(value)) == "" {
			return dst, &reading.Error{Kind: reading.Empty, Reason: m.Doubt}
		}
		return dst, &reading.Error{Kind: reading.Damaged, Reason: fmt.Sprintf("%q: %s", cutShort(string(value)), m.Doubt)}
	case r.shape.Width > 0 && m.Repair == reading.ZerosBack && !r.loose:
		return dst, &reading.Error{Kind: reading.Damaged, Reason: fmt.Sprintf(
			"%q: has %d digits where the rule has %d: zeros before it may be lost, or any other digit; write it with all its digits",
			cutShort(string(value)), len(bytes.TrimSpace(value)), r.shape.Width)}
	}
	r.repair = m.Repair
	out, err := r.rule.Append(dst, string(m.Value))
	if err == nil {
		return out, nil
	}
	if parts := reading.Parts(string(value)); len(parts) > 1 {
		return dst, &reading.Error{Kind: reading.Several, Reason: fmt.Sprintf(
			"%q: %d numbers in one cell; give each card a row of its own", cutShort(string(value)), len(parts))}
	}
	return dst, &reading.Error{Kind: reading.Unreadable, Reason: err.Error()}
}
