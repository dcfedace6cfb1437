package dominance

import (
	"fmt"
	"strings"
)

func alone(ids []string) string {
	if len(ids) == 0 {
		return "This group has no animals."
	}
	return fmt.Sprintf("%s is alone in this group; one animal has no order.", ids[0])
}

func (v Verdict) sentence(e Evidence) string {
	switch {
	case v.Counts.Animals == 2:
		return e.ofTwo()
	case v.Counts.Interactions == 0:
		return "No encounter was seen" + e.when() + ", so nothing is known of an order."
	case v.State == NoOrder:
		return "No order yet: " + v.Failed[0].Why + "."
	case v.State == Provisional:
		return fmt.Sprintf("A provisional order%s, %s: %s.", e.when(), strings.Join(v.Order, ", "), v.Failed[0].Why)
	}
	return fmt.Sprintf("The order%s is supported: %s.", e.when(), strings.Join(v.Order, ", "))
}

// ofTwo is all that there is to say of two animals: their record. Of two, every
// index is at one of its ends.
func (e Evidence) ofTwo() string {
	p := e.Matrix.Pair(0, 1)
	if p.Lost > p.Won {
		p = e.Matrix.Pair(1, 0)
	}
	undecided := ""
	if p.Undecided > 0 {
		undecided = fmt.Sprintf(", %d undecided", p.Undecided)
	}
	switch {
	case !e.lived(0, 1):
		return fmt.Sprintf("%s and %s were not together%s.", p.A, p.B, e.when())
	case p.Won+p.Lost+p.Undecided == 0:
		return fmt.Sprintf("%s and %s were not seen to meet%s.", p.A, p.B, e.when())
	case p.Won == p.Lost:
		return fmt.Sprintf("%s and %s are even, %d–%d%s%s.", p.A, p.B, p.Won, p.Lost, undecided, e.when())
	}
	return fmt.Sprintf("%s over %s, %d–%d%s%s.", p.A, p.B, p.Won, p.Lost, undecided, e.when())
}

func (e Evidence) when() string {
	if e.When == "" {
		return ""
	}
	return " " + e.When
}

// Straightness says in one sentence how near to a straight order the group
// comes: h', its p and the share of unseen pairs together, or why there is no
// such figure. Of five animals or fewer there never is one: even a perfect order
// would come about by chance too often; nor of a group too sparsely seen for an
// order that is more than provisional, except where only neighbours are close:
// h' and p say little then (Klass & Cords 2011, Behav Processes 88:168-176). The
// window should hold animals that were all together: h' can't tell pairs that
// were never together from unseen ones, and then there is no figure either.
// Throws and seed are those of LinearityTest. Errors: those of Judge and LinearityTest.
func Straightness(e Evidence, throws int, seed uint64) (string, error) {
	v, err := Judge(e)
	if err != nil {
		return "", err
	}
	n := v.Counts.Animals
	switch {
	case n < 3:
		return v.Sentence, nil
	case n < int(assumed("linear_from")):
		return fmt.Sprintf("No figure for linearity: with %d animals even a perfect order comes about by chance with p = %.3g.", n, straight(n)), nil
	case len(v.Pairs.Never) > 0:
		return fmt.Sprintf("No figure for linearity: %s were never together.", listed(v.Pairs.Never)), nil
	case len(v.Failed) > 0 && v.Failed[0].Name != neighbours:
		return "No figure for linearity: " + v.Failed[0].Why + ".", nil
	}
	test, err := e.Matrix.LinearityTest(throws, seed)
	if err != nil {
		return "", err
	}
	than := "not more"
	if test.Right <= assumed("chance") {
		than = "more"
	}
	return fmt.Sprintf("The order is %s linear than chance would make it: h' = %.2f, p = %.3g, %.0f %% of pairs unseen.",
		than, e.Matrix.Linearity().HPrime, test.Right, 100*v.Pairs.Unknown()), nil
}
