// Package dominance turns who yielded to whom into what the field says of a
// hierarchy. It is pure: a matrix of wins or encounters in, numbers out; where
// it throws dice, it is given the seed.
//
// The matrix of wins gives David's score and steepness, Landau's h and de
// Vries' h', Kendall's K, directional consistency, triangle transitivity and
// the orders with the fewest and weakest inconsistencies. All of them look at
// one window in which the same animals were together: a pair that was never
// together is no missing observation, and none of these numbers can tell it
// from a pair that was together and never seen to meet.
//
// The encounters one by one give ratings, abilities and how sure it is who
// stands above whom.
//
// A number that can't be had, or that would say nothing, comes with NotEnough
// in words. An empty matrix has h' = 3/(N+1) and an order without a single
// inconsistency; that is no hierarchy.
package dominance
