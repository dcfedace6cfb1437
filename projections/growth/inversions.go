package growth

// inversions puts values in order and counts the pairs of which the later was
// the less. Room is as long as values. Source: counting while merging, Knight
// 1966 (J Am Stat Assoc 61:436).
func inversions(values, room []float64) (count int) {
	if len(values) < few {
		return inserted(values)
	}
	half := len(values) / 2
	left, right := values[:half], values[half:]
	count = inversions(left, room[:half]) + inversions(right, room[half:])
	copy(room, values)
	left, right = room[:half], room[half:len(values)]
	l, r := 0, 0
	for i := range values {
		if r == len(right) || l < len(left) && left[l] <= right[r] {
			values[i], l = left[l], l+1
			continue
		}
		values[i], r = right[r], r+1
		count += len(left) - l
	}
	return count
}

// few values are put in order faster one by one.
const few = 16

func inserted(values []float64) (count int) {
	for i, v := range values {
		j := i
		for ; j > 0 && values[j-1] > v; j-- {
			values[j] = values[j-1]
		}
		values[j], count = v, count+i-j
	}
	return count
}

// turned puts an order by key and visits the pairs that change places.
func turned(order, room []int, key []float64, visit func(i, j int)) {
	if len(order) < 2 {
		return
	}
	half := len(order) / 2
	turned(order[:half], room[:half], key, visit)
	turned(order[half:], room[half:], key, visit)
	copy(room, order)
	left, right := room[:half], room[half:len(order)]
	for i := range order {
		if len(right) == 0 || len(left) > 0 && key[left[0]] <= key[right[0]] {
			order[i], left = left[0], left[1:]
			continue
		}
		for _, l := range left {
			visit(l, right[0])
		}
		order[i], right = right[0], right[1:]
	}
}
