// Package journal is the log: one JetStream stream a facility, one recorder
// that writes it.
//
// Facts that arrive while the disk is busy wait together; the next page takes
// them all: checks them against what the facility knows, answers repeats with
// their first receipt, numbers and chains the rest, and publishes one message
// that is on disk before anybody is answered. A request's facts are on one
// page, so they are all recorded or none.
//
// JetStream's own sequence is a transport detail: records carry their own dense
// number and the hash of the record before them, and those are compared with
// the archive before anything is written.
package journal
