// Package coat reads molts from scores of new coat. It is pure: scores and a
// day in, intervals and sentences out.
//
// A score is a share of new coat, in per cent: one figure, or the bounds of a
// stage. Nobody sees the hour at which a molt begins, so what is known of it is
// an interval, from the last score without new coat to the first with some. A
// molt belongs to a coat year, which turns where no molt is seen and may hold a
// New Year. Days of the year are directions on a circle; so their means do not
// fall into July when molts begin around New Year.
//
// What is said of molts to come is nine in ten, from the animal's own molts
// drawn towards those of its class, and begins with the second molt on record.
// None of it is a diagnosis: a molt that is early, late or stalled is for the
// veterinarian to judge.
package coat
