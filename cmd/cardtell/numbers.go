package main

import (
	"errors"
	"fmt"
	"runtime/debug"
	"slices"
	"strings"

	"github.com/spf13/pflag"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/reading"
	"github.com/cardtell/cardtell/formats/site"
	"github.com/cardtell/cardtell/formats/survey"
)

// numberFlags say what the numbers of a list are.
type numberFlags struct{ reading.Options }

func (n *numberFlags) register(flags *pflag.FlagSet) {
	flags.StringSliceVar(&n.Forms, "from", nil,
		"the `FORM` in which the list has the numbers (as printed, by the site file)")
	flags.StringVar(&n.Format, "format", "", "`ID` of the cards' format (by the site file)")
	flags.StringVar(&n.Facility, "facility", "", "the facility `NUMBER`, where the list leaves it out (by the site file)")
	flags.BoolVar(&n.AsIs, "as-is", false, "take cells as they stand: no repair of what spreadsheets do, and no doubt")
}

// newPlan makes the plan of a list's numbers. What is missing is said by the names of the command's options.
func newPlan(cat formats.Catalogue, s site.Site, opt reading.Options) (*reading.Plan, error) {
	plan, err := reading.New(cat, s, opt)
	return plan, planError(err)
}

// shown returns the site with the form in which a list has the cards of which neither the file nor an option says it.
func (a *app) shown(cat formats.Catalogue, s site.Site, opt reading.Options, t *table) (site.Site, error) {
	missing := func(p formats.Population) bool { return p.Printed == "" }
	if len(opt.Forms) > 0 || len(s.Cards) > 0 && !slices.ContainsFunc(s.Cards, missing) {
		return s, nil
	}
	texts, _, err := a.sample(t)
	if err != nil {
		return s, err
	}
	cards := reading.Shown(cat, s.Cards, different(texts, settledBy), opt)
	for i, p := range cards {
		settles := "--from"
		if i < len(s.Cards) {
			settles = "printed = in the site file"
		}
		untold := func(o formats.Population) bool { return missing(o) && o.Format == p.Format }
		switch {
		case i < len(s.Cards) && !missing(s.Cards[i]):
		case missing(p) && i >= len(s.Cards) && slices.ContainsFunc(cards[:i], func(o formats.Population) bool {
			return o.Format == p.Format
		}):
			a.remark("cards of %s: some rows can be those in another form; printed = in the site file settles it", p.Format)
		case missing(p):
			a.remark("cards of %s: the list does not tell how they are written; %s settles it", p.Format, settles)
		case !slices.ContainsFunc(cards[:i], untold):
			a.remark("cards of %s: taken as written as %s, by the list; %s settles it", p.Format, p.Printed, settles)
		}
	}
	s.Cards = cards
	return s, nil
}

// planOf makes the plan of a list, as far as the site, the options and the list say how it is read, and returns the
// site with what the list says of it.
func (a *app) planOf(cat formats.Catalogue, s site.Site, opt reading.Options, t *table) (site.Site, *reading.Plan,
	error) {
	s, err := a.shown(cat, s, opt, t)
	if err != nil {
		return s, nil, err
	}
	plan, err := newPlan(cat, s, opt)
	if err == nil {
		plan, err = a.settled(plan, t)
	}
	return s, plan, err
}

// settledBy is how many different numbers of a list say how it is read, of the first sampledRows rows.
const settledBy, sampledRows = 400, 4000

// settled returns the plan with what the first rows of the list say.
func (a *app) settled(plan *reading.Plan, t *table) (*reading.Plan, error) {
	texts, whole, err := a.sample(t)
	if err != nil {
		return nil, err
	}
	t.sample = texts
	defer debug.SetGCPercent(debug.SetGCPercent(muchGarbage))
	plan = settledOn(plan, texts, whole)
	if label := plan.Label(); label != "" {
		a.remark("%s: the numbers have %q before them, which is taken for a label", t.Name, label)
	}
	return plan, nil
}

// muchGarbage is how much garbage, in percent of what is kept, is let lie while a sample is weighed, which makes some
// megabytes of it and keeps hardly any.
const muchGarbage = 800

// settledOn returns the plan with what texts say: those of all rows, where whole says so.
func settledOn(plan *reading.Plan, texts []string, whole bool) *reading.Plan {
	plan = plan.Settled(different(texts, settledBy))
	if whole {
		plan = plan.Counted(slices.Values(texts))
	}
	return plan
}

// different returns the first different texts, at most so many.
func different(texts []string, most int) (some []string) {
	for _, v := range texts {
		if v = strings.TrimSpace(v); v != "" && len(some) < most && !slices.Contains(some, v) {
			some = append(some, v)
		}
	}
	return some
}

// optionOf are the command's options by the fields of [reading.Options].
var optionOf = map[string]string{"Format": "--format", "Forms": "--from", "Facility": "--facility", "AsIs": "--as-is",
	"Any": "--any"}

// toSettle says which options settle what is wrong with a number, after its reason; "" where none does.
func toSettle(e *reading.Error) string {
	var names []string
	for _, field := range e.Settles {
		names = append(names, optionOf[field])
	}
	switch option := strings.Join(names, " or "); {
	case option == "":
		return ""
	case option == "--any":
		return " If it is right, put it into the site file, or let batch convert it with --any"
	case e.Kind == reading.WrongFacility:
		return fmt.Sprintf("; leave %s out if the list is right", option)
	case e.Kind == reading.Damaged:
		return fmt.Sprintf("; %s if it is right", option)
	default:
		return "; give " + option
	}
}

// otherForm says of a number that is not in the form that the list has, in which it is.
func otherForm(plan *reading.Plan, seen *reading.Seen) string {
	c, forms := seen.Card(), plan.FirstForms()
	if name := seen.Reading.Form.Name; !slices.Contains(strings.Split(forms, ","), name) {
		forms += "," + name
	}
	return fmt.Sprintf("not written as printed on the cards; as %s it is %s: --from %s would convert both", seen.Reading.Form.Name,
		reading.Describe(&c), forms)
}

// siteFromList follows errors that a site file would settle.
const siteFromList = " (\"cardtell site LIST\" writes one)"

// planError says by the names of the command's options what is missing for a plan.
func planError(err error) error {
	e, ok := errors.AsType[*reading.OptionError](err)
	if !ok {
		return err
	}
	name := optionOf[e.Option]
	switch {
	case e.Value != "":
		return fmt.Errorf("%s %s: %s", name, e.Value, e.Reason)
	case e.Option == "Format":
		return fmt.Errorf("%s: %s; give --format ID (\"cardtell identify\" tells it from a few cards) or --site FILE"+
			siteFromList, name, e.Reason)
	}
	return fmt.Errorf("%s: %s; give --from FORM, such as pair (121,00017) or number (17), or printed = in the site file",
		name, e.Reason)
}

// sureOfFormat is from which probability on a format is taken without being named, and said: one list in a hundred may
// be wrong at most.
const sureOfFormat = 0.99

// guessFormat returns the format of a column's numbers, where it is not given and at least as sure as sureOfFormat.
// Otherwise the error says what it could be.
func guessFormat(cat formats.Catalogue, samples []string, forms []string) (id string, probability float64, err error) {
	likely, err := survey.Column(cat, samples, forms)
	switch {
	case err != nil:
		return "", 0, err
	case len(likely) == 0 || likely[0].Part:
		return "", 0, errors.New("--format: not given, and the numbers do not tell it; give --format ID or --site FILE" + siteFromList)
	case likely[0].Probability >= sureOfFormat:
		return likely[0].Format, likely[0].Probability, nil
	}
	hint := ""
	for _, l := range likely[:min(len(likely), 3)] {
		hint += fmt.Sprintf(", %s (%.0f %%)", l.Format, 100*l.Probability)
	}
	return "", 0, fmt.Errorf("--format: not given, and it can be %s; give --format ID or --site FILE"+siteFromList, hint[2:])
}
