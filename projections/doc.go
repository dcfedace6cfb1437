// Package projections holds the archive and the rows.
//
// The archive is Badger's own copy of every record, indexed by what the record
// is about. A row is what a projection computed for one scope: an animal's day,
// an enclosure, an animal's stays. One law rules them all: the same set of
// records gives the same row, in whatever order they arrived and however often.
//
// It is kept by construction. A record is stored once and indexed by every
// reference it makes. A projection says which scopes it answers for and how to
// fold one: sorted, corrected records in, row out, and nothing else to look at.
// A batch stores and indexes its records, marks the scopes they touch, folds
// each once, and writes rows and position in one transaction.
//
// Nothing here is the only copy of anything: an empty folder is filled again
// from the log.
package projections
