package projections

// All is every question the program answers from rows, one line each.
func All() []Projection {
	return []Projection{
		facilities,
		enclosures,
		animals,
		foods,
		lots,
		rations,
		behaviours,
		days,
		weights,
	}
}
