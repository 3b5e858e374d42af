package main

import (
	"fmt"
	"strings"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/learn"
	"github.com/cardtell/cardtell/formats/reading"
)

// ruleConverter converts by a rule that relate has found, without knowing what format the cards have.
type ruleConverter struct {
	rule   learn.Rule
	shape  reading.Shape // of the numbers that the rule reads
	asIs   bool
	repair string // what was repaired in the value converted last
}

// newRuleConverter reads --rule FILE.
func (a *app) newRuleConverter(name string, cat formats.Catalogue, asIs bool) (*ruleConverter, error) {
	text, err := a.readSmall(name, maxDefinitions)
	if err != nil {
		return nil, err
	}
	rule, err := learn.ParseRule(name, text, cat)
	if err != nil {
		return nil, err
	}
	r := &ruleConverter{rule: rule, asIs: asIs}
	switch rule.From.Kind {
	case learn.Decimal:
		r.shape = reading.Shape{Decimal: true, Width: rule.From.Digits}
	case learn.Hex:
		r.shape = reading.Shape{Hex: true, Width: rule.From.Digits}
	case learn.JoinedText:
		r.shape = reading.Shape{Decimal: true}
	case learn.SerialText:
		r.shape = reading.Shape{Hex: true}
	}
	return r, nil
}

// Convert implements [converter].
func (r *ruleConverter) Convert(dst, value []byte) ([]byte, error) {
	m := reading.Mended{Value: value}
	if !r.asIs {
		m = reading.Mend(value, r.shape)
	}
	if m.Doubt != "" {
		if strings.TrimSpace(string(value)) == "" {
			return dst, &reading.Error{Kind: reading.Empty, Reason: m.Doubt}
		}
		return dst, &reading.Error{Kind: reading.Damaged, Reason: fmt.Sprintf("%q: %s", cutShort(string(value)), m.Doubt)}
	}
	r.repair = m.Repair
	out, err := r.rule.Append(dst, string(m.Value))
	if err != nil {
		return dst, &reading.Error{Kind: reading.Unreadable, Reason: err.Error()}
	}
	return out, nil
}
