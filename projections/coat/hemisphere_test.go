package coat

import "testing"

// Latitudes of the places that zones are named for are in any atlas. The zones
// near the equator lie on both sides of it: Jakarta's reaches to 5 degrees north
// in Sumatra, Bogota's to 4 degrees south at the Amazon.
func TestAZoneLiesOnAHemisphereWhereThatIsCertain(t *testing.T) {
	for zone, want := range map[string]string{
		"Europe/Dublin": "north", "America/Los_Angeles": "north", "Pacific/Honolulu": "north", "Asia/Tokyo": "north", "US/Pacific": "north", "America/Panama": "north",
		"Pacific/Auckland": "south", "America/Sao_Paulo": "south", "Africa/Johannesburg": "south", "Australia/Hobart": "south", "America/Lima": "south", "Antarctica/Troll": "south", "Atlantic/Stanley": "south",
		"Asia/Jakarta": "", "America/Bogota": "", "Africa/Kinshasa": "", "Pacific/Galapagos": "", "America/Guayaquil": "", "Africa/Nairobi": "", "Pacific/Kiritimati": "", "Indian/Maldives": "", "America/Belem": "", "Asia/Singapore": "", "Africa/Lubumbashi": "",
		"Etc/UTC": "", "UTC": "", "Etc/GMT-10": "", "EST": "", "Local": "", "": "", "Mars/Olympus": "",
	} {
		if got := HemisphereOf(zone); got != want {
			t.Errorf("%q lies %q, want %q", zone, got, want)
		}
	}
}

func TestTheTableOfZonesIsWhole(t *testing.T) {
	if zones.Source == "" || zones.Least.Source == "" || len(zones.Degrees) < 440 {
		t.Errorf("%d zones, from %q, %+v", len(zones.Degrees), zones.Source, zones.Least)
	}
	for zone, degrees := range zones.Degrees {
		if degrees < -90 || degrees > 90 {
			t.Errorf("%s lies at %v degrees", zone, degrees)
		}
	}
}
