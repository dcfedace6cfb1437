// Package api is the HTTP interface for programs, and the guard at the door of
// everything that is served: who is asking, and may they.
package api
