package colony

// Keeper is one invented member of the staff.
type Keeper struct {
	Name     string // the short code that stands as author
	Full     string
	Role     string // keeper, lead, registrar, veterinarian, manager
	Facility string // "" for all
}

// Staff lists the invented staff.
func Staff() []Keeper {
	return []Keeper{
		{"rv", "Rue Vane", "keeper", "saltgarth"},
		{"tk", "Tam Keld", "keeper", "saltgarth"},
		{"ob", "Oona Brackwater", "keeper", "saltgarth"},
		{"pw", "Perrin Wrack", "keeper", "saltgarth"},
		{"lw", "Lorne Wickstrand", "lead", "saltgarth"},
		{"hs", "Hale Sundrift", "keeper", "wrackline-bay"},
		{"ny", "Nye Yarrowby", "keeper", "wrackline-bay"},
		{"sb", "Sib Brinewell", "keeper", "wrackline-bay"},
		{"cm", "Cass Mirrenholm", "lead", "wrackline-bay"},
		{"jf", "Jory Fenmarsh", "keeper", "tern-sluice"},
		{"dp", "Dell Pryorsand", "keeper", "tern-sluice"},
		{"ko", "Kit Osterdune", "keeper", "tern-sluice"},
		{"em", "Esk Moylestone", "lead", "tern-sluice"},
		{"gq", "Greer Quillwater", "registrar", ""},
		{"vt", "Vesper Tarnholt", "veterinarian", ""},
		{"mh", "Merle Haskerby", "manager", ""},
	}
}

// keepersOf are those who take the rounds at a facility.
func keepersOf(facility string) (names []string) {
	for _, k := range Staff() {
		if k.Facility == facility && k.Role == "keeper" {
			names = append(names, k.Name)
		}
	}
	return names
}

func leadOf(facility string) string {
	for _, k := range Staff() {
		if k.Facility == facility && k.Role == "lead" {
			return k.Name
		}
	}
	return ""
}

const (
	registrar    = "gq"
	veterinarian = "vt"
)
