// Package events is the vocabulary of haulout: what a fact is, which kinds of
// fact there are, what makes one sound, and the bytes it is stored as.
//
// A fact is something that happened. Once recorded it is a record: a
// CloudEvents 1.0 envelope in RFC 8785 canonical JSON, numbered without a gap
// within its facility and chained to the record before it by hash.
//
// Every body is a Go struct whose field tags say what a sound value is. Those
// tags are read once and serve four ends: the check on the way in, the
// references that the archive indexes, the JSON Schema that programs read, and
// the register of names. The tags are
//
//	json   the wire name; omitempty or omitzero makes the field optional
//	ref    the value names something of this sort (animal, enclosure, food, …)
//	new    the value names something of this sort and brings it into being
//	name   the value is the name people use for what `new` brings into being
//	unit   allowed UCUM units of a Quantity, the first is the reference unit
//	min    least value, max greatest value, in the reference unit
//	enum   allowed words
//	format date, edtf, instant, zone, code, iso11784
//	len    greatest length of a text (200 unless said)
//	doc    what the field means, for the schema
//
// The package imports the standard library alone.
package events
