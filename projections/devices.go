package projections

import (
	"time"

	"haulout/events"
)

// Device is what a device last said of the entries that it holds.
type Device struct {
	Device   string     `json:"device"`
	Facility string     `json:"facility"`
	Waiting  int        `json:"waiting"`
	Oldest   *time.Time `json:"oldest,omitempty"`
	Said     time.Time  `json:"said"`  // when it said so last
	Since    time.Time  `json:"since"` // since when it has held some without a break; when it said so where it holds none
	By       string     `json:"by"`    // whose it was then
}

var devices = Whole("devices", 1, "device", []string{"device.reported"}, foldDevice)

func foldDevice(_ Scope, recs []Record) *Device {
	var out *Device
	for _, rec := range recs {
		b := rec.Body.(*events.DeviceReported)
		next := &Device{Device: rec.Device, Facility: rec.Facility, Waiting: b.Waiting, Said: rec.Time, Since: rec.Time, By: rec.Author}
		if oldest, err := events.ParseTime(b.Oldest); b.Oldest != "" && err == nil {
			next.Oldest = &oldest
		}
		if out != nil && out.Waiting > 0 && b.Waiting > 0 {
			next.Since = out.Since
		}
		out = next
	}
	return out
}

// Devices lists what the devices of a facility last said of themselves.
func (s *Store) Devices(facility string, asOf time.Time) (out []Device, err error) {
	err = s.at(asOf, func(v view) error {
		out, err = v.devices(facility)
		return err
	})
	return out, err
}

func (v view) devices(facility string) (out []Device, err error) {
	all, err := every[Device](v, &devices)
	for _, d := range all {
		if d.Facility == facility {
			out = append(out, d)
		}
	}
	return out, err
}
