package main

// ordersListed is how many best orders are listed; of more, one is.
const ordersListed = 12

// orders are those with the fewest inconsistencies, and of these the weakest.
func (f *hierarchyFigure) orders() error {
	m := f.in.matrix
	if f.animals() < 2 {
		f.none("fewer than two animals", "isi")
		return nil
	}
	best, err := m.InconsistenciesAndStrengths()
	if err != nil {
		f.none(err.Error(), "isi")
		return nil
	}
	f.best = &best
	ranges := map[string][2]int{}
	for i, id := range m.IDs {
		ranges[id] = best.Places[i]
	}
	isi := map[string]any{"I": best.I, "SI": best.SI, "n_optimal_orders": best.Orders, "rank_range": ranges}
	listed, err := m.BestOrders(ordersListed + 1)
	if err != nil {
		return err
	}
	named := [][]string{}
	for _, order := range listed {
		named = append(named, idsIn(m.IDs, order))
	}
	if len(named) > ordersListed {
		isi["one_order"] = named[0]
	} else {
		isi["orders"] = named
	}
	f.values["isi"] = isi
	f.mind(best.NotEnough, "isi")
	return nil
}

// idsIn gives an order of rows as ids.
func idsIn(ids []string, order []int) (out []string) {
	for _, i := range order {
		out = append(out, ids[i])
	}
	return out
}
