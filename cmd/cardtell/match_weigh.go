package main

import (
	"cmp"
	"math"
	"slices"
)

// weigh finds for every unknown card who it can be, and how likely that is.
func (m *matcher) weigh() {
	m.weights = make([]float64, len(rules))
	for i := range rules {
		m.weights[i] = rules[i].weight
	}
	if len(m.order) == 0 {
		return
	}
	m.buildIndex()
	for _, u := range m.order {
		m.ways(u)
	}
	for range 30 {
		m.learn()
	}
	for _, u := range m.order {
		m.judge(u)
	}
}

// priorCards is how many cards the start weights count for.
const priorCards = 4

// learn makes the weights those that the unknown cards speak for.
func (m *matcher) learn() {
	sums := make([]float64, len(rules))
	total := float64(priorCards)
	for i := range rules {
		sums[i] = priorCards * rules[i].weight
	}
	for _, u := range m.order {
		if u.value == "" {
			continue
		}
		total++
		all := m.mass(u)
		sums[ruleStranger] += m.strangerMass(u) / all
		for _, w := range u.ways {
			sums[w.rule] += m.wayMass(u, w) / all
		}
	}
	for i := range sums {
		m.weights[i] = sums[i] / total
	}
}

func (m *matcher) wayMass(u *unknownCard, w way) float64 {
	mass := m.weights[w.rule] / float64(len(m.holders)) / float64(w.variants)
	if w.rule == ruleMisread || w.rule == ruleLost {
		mass *= math.Pow(0.5, float64(min(u.events, 64)-1))
	}
	return mass
}

func (m *matcher) strangerMass(u *unknownCard) float64 { return m.weights[ruleStranger] * u.stray }

func (m *matcher) mass(u *unknownCard) float64 {
	total := m.strangerMass(u)
	for _, w := range u.ways {
		total += m.wayMass(u, w)
	}
	return total
}

// judge adds up for each holder the ways in which the card is theirs.
func (m *matcher) judge(u *unknownCard) {
	total := m.mass(u)
	u.best = verdict{holder: -1, rule: ruleStranger, probability: m.strangerMass(u) / total}
	if len(u.ways) == 0 {
		return
	}
	slices.SortStableFunc(u.ways, func(a, b way) int {
		return cmp.Or(cmp.Compare(a.holder, b.holder), cmp.Compare(m.wayMass(u, b), m.wayMass(u, a)))
	})
	for i := 0; i < len(u.ways); {
		sum, j := 0.0, i
		for ; j < len(u.ways) && u.ways[j].holder == u.ways[i].holder; j++ {
			sum += m.wayMass(u, u.ways[j])
		}
		if p := sum / total; p > u.best.probability {
			u.best = verdict{holder: int(u.ways[i].holder), rule: int(u.ways[i].rule), probability: p}
		}
		i = j
	}
}
