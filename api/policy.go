package api

import (
	"maps"
	"net/http"
	"slices"
)

// need is what a route asks of whoever calls it.
type need int

const (
	refused need = iota // what no line of the table names
	open                // anybody
	see                 // read what one's facilities hold
	write               // record facts at one's facilities
	whole               // read figures of the whole node, with a role for every facility
)

// roles says what each role may do, at the facilities it is given for.
var roles = map[string][]need{
	"reader":       {see},
	"keeper":       {see, write},
	"lead":         {see, write},
	"registrar":    {see, write},
	"veterinarian": {see, write},
	"manager":      {see, write},
	"steward":      {see, write},
}

// signed are the kinds that a veterinarian answers for. Nobody else records,
// corrects or withdraws them.
var signed = []string{"order.given", "order.ended", "veterinary.noted"}

// signers record what is signed.
const signers = "veterinarian"

// openers may bring a new facility into being, when they hold for every one.
var openers = []string{"manager", "steward"}

// Roles lists the roles, sorted.
func Roles() []string { return slices.Sorted(maps.Keys(roles)) }

// May says whether the member's role allows it.
func (m Member) May(what need) bool {
	if what == whole {
		return len(m.Facilities) == 0 && m.May(see)
	}
	return slices.Contains(roles[m.Role], what)
}

// Records says whether the member's role may record facts.
func (m Member) Records() bool { return m.May(write) }

// Signs says whether the member may record what a veterinarian answers for.
func (m Member) Signs() bool { return m.Role == signers }

// mayOpen says whether the member may open a facility.
func (m Member) mayOpen() bool { return len(m.Facilities) == 0 && slices.Contains(openers, m.Role) }

// policy is the one table of routes of this package. A route that is not in it,
// or not in the table of pages, is refused.
var policy = map[string]need{
	"GET /livez":                               open,
	"GET /readyz":                              open,
	"POST /sign-in":                            open,
	"POST /sign-out":                           open,
	"GET /api/openapi.json":                    open,
	"GET /api/v1/schemas":                      open,
	"GET /api/v1/schemas/{type}":               open,
	"GET /api/v1/problems/{slug}":              open,
	"GET /metrics":                             whole,
	"GET /api/v1/me":                           see,
	"GET /api/v1/status":                       see,
	"GET /api/v1/facilities":                   see,
	"GET /api/v1/facilities/{code}/records":    see,
	"GET /api/v1/facilities/{code}/judgements": see,
	"GET /api/v1/enclosures":                   see,
	"GET /api/v1/enclosures/{id}/hierarchy":    see,
	"GET /api/v1/enclosures/{id}/company":      see,
	"GET /api/v1/enclosures/{id}/periods":      see,
	"GET /api/v1/enclosures/{id}/water":        see,
	"GET /api/v1/enclosures/{id}/space":        see,
	"GET /api/v1/foods":                        see,
	"GET /api/v1/lots":                         see,
	"GET /api/v1/behaviours":                   see,
	"GET /api/v1/fishroom/{facility}/{date}":   see,
	"GET /api/v1/today":                        see,
	"GET /api/v1/animals":                      see,
	"GET /api/v1/animals/{id}":                 see,
	"GET /api/v1/animals/{id}/days":            see,
	"GET /api/v1/animals/{id}/weights":         see,
	"GET /api/v1/animals/{id}/energy":          see,
	"GET /api/v1/animals/{id}/forecast":        see,
	"GET /api/v1/animals/{id}/mass":            see,
	"GET /api/v1/animals/{id}/coat":            see,
	"GET /api/v1/animals/{id}/checks":          see,
	"GET /api/v1/animals/{id}/records":         see,
	"GET /api/v1/records/{id}":                 see,
	"GET /api/v1/follow":                       see,
	"POST /api/v1/records":                     write,
	"POST /api/v1/rations/propose":             see,
	"POST /api/v1/photos":                      write,
	"GET /api/v1/photos/{digest}":              see,
}

// table makes the policy a mux, so that patterns match as the server's own do.
func table(pages map[string]bool) *http.ServeMux {
	mux := http.NewServeMux()
	for pattern, what := range policy {
		mux.Handle(pattern, what)
	}
	for pattern, anybody := range pages {
		what := see
		if anybody {
			what = open
		}
		mux.Handle(pattern, what)
	}
	return mux
}

// ServeHTTP is never called: a need stands in the table as a handler so that a
// mux can find it.
func (n need) ServeHTTP(http.ResponseWriter, *http.Request) {}
