package dominance

import (
	"fmt"
	"strings"
)

// noLikeliest says why there are no abilities of greatest likelihood; it is
// empty where there are.
func (m Matrix) noLikeliest() string {
	n := len(m.IDs)
	if n < 2 {
		return "fewer than two animals"
	}
	top, fewest := []bool(nil), n
	for i, linked := range m.chains() {
		above, count := make([]bool, n), 0
		for j := range n {
			if above[j] = j == i || linked[j]; above[j] {
				count++
			}
		}
		if count < fewest {
			top, fewest = above, count
		}
	}
	if top == nil {
		return ""
	}
	return m.boundless(top)
}

// chains tells for each animal from which others a chain of wins leads down to
// it: the first won over the second, that over the third, and so on.
func (m Matrix) chains() [][]bool {
	n := len(m.IDs)
	down := make([][]bool, n)
	for to := range n {
		down[to] = make([]bool, n)
		for from := range n {
			down[to][from] = m.Wins[from][to] > 0
		}
	}
	for via := range n {
		for to := range n {
			for from := range n {
				down[to][from] = down[to][from] || down[to][via] && down[via][from]
			}
		}
	}
	return down
}

// boundless puts in words that nothing bounds how far the animals in top, over
// which none of the others ever won, stand above these.
func (m Matrix) boundless(top []bool) string {
	var inside []string
	won := false
	for i, id := range m.IDs {
		if !top[i] {
			continue
		}
		inside = append(inside, id)
		for j := range m.IDs {
			won = won || !top[j] && m.Wins[i][j] > 0
		}
	}
	who := strings.Join(inside, ", ")
	if !won {
		return fmt.Sprintf("%s never met any of the others, so nothing compares them", who)
	}
	return fmt.Sprintf("%s never yielded to any of the others, so nothing bounds how far above them", who)
}
