package projections

// All is every question the program answers from rows, one line each.
func All() []Projection {
	return []Projection{
		facilities,
		enclosures,
		house,
		animals,
		foods,
		lots,
		supplements,
		diets,
		rations,
		behaviours,
		days,
		weights,
		hierarchy,
		ratings,
		watches,
		scans,
		judged,
		periods,
		checks,
		orders,
		medications,
		coats,
		waters,
		calls,
		devices,
	}
}
