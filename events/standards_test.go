package events

import (
	"regexp"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// ISO 11784: 15 digits, a country or manufacturer of three and a 38-bit number
// of twelve; 2^38-1 = 274877906943.
func TestTransponderFollowsISO11784(t *testing.T) {
	for code, sound := range map[string]bool{
		"840123456789012":  true,
		"276274877906943":  true, // the greatest number
		"276274877906944":  false,
		"528000000000001":  true,
		"900000000000001":  true, // a manufacturer
		"998000000000001":  true,
		"999000000000000":  false, // for tests alone
		"000000000000001":  false,
		"84012345678901":   false, // 14 digits
		"8401234567890123": false, // 16 digits
		"84012345678901X":  false,
		"840 12345678901":  false,
		"840１23456789":     false, // 15 bytes, one a wide digit
		"":                 false,
	} {
		if err := checkTransponder(code); (err == nil) != sound {
			t.Errorf("%q: %v", code, err)
		}
	}
}

func TestATransponderIsCheckedAndOtherMarksAreNot(t *testing.T) {
	draft := goldenDraft(t, "animal.identified")
	expect(t, with(t, draft, `{"code":"276274877906944"}`), "data.code", "at most 274877906943")
	if _, err := with(t, draft, `{"scheme":"tag","code":"yellow 12"}`).Fact(); err != nil {
		t.Errorf("a tag: %v", err)
	}
}

// Extended Date/Time Format (EDTF), Library of Congress, 4 February 2019, level
// 1, dates and intervals. X stands for unspecified digits from the right.
func TestDatesFollowEDTFLevel1(t *testing.T) {
	for _, sound := range []string{
		"2014", "2014-06", "2014-06-11", "2014?", "2014-06~", "2014-06-11%", "201X", "20XX", "201X?", "2014-XX", "2014-06-XX", "2014-XX-XX",
		"2014-21", "2014-22", "2014-23", "2014-24", "2012/2014", "2012-02-01/2014-06", "2012~/2014?", "../2014", "2012/..", "/2014", "2012/", "2012-02-29", "0000",
	} {
		if err := checkEDTF(sound); err != nil {
			t.Errorf("%s is refused: %v", sound, err)
		}
	}
	for name, s := range map[string]string{
		"an older letter":               "2014u",
		"a qualified part, level 2":     "1984?-06",
		"a qualifier in front, level 2": "?2014-06",
		"the basic form":                "20140611",
		"a month that is none":          "2014-13",
		"a month nought":                "2014-00",
		"a day that is none":            "2014-02-30",
		"a leap day in a common year":   "2014-02-29",
		"a season that is none":         "2014-25",
		"X on the left, level 2":        "X014",
		"X before a month, level 2":     "201X-06",
		"X before a day, level 2":       "2014-XX-11",
		"half a month, level 2":         "2014-1X",
		"a set, level 2":                "[2014,2015]",
		"one slash":                     "/",
		"open at both ends":             "../..",
		"three ends":                    "2012/2013/2014",
		"two qualifiers":                "2014?~",
		"a trailing dash":               "2014-",
		"three digits":                  "201",
		"words":                         "summer 2014",
		"a space":                       " 2014",
		"nothing":                       "",
	} {
		if err := checkEDTF(s); err == nil {
			t.Errorf("%s is taken: %q", name, s)
		}
	}
}

// RFC 3339, section 5.6.
func TestTimesFollowRFC3339(t *testing.T) {
	for s, utc := range map[string]string{
		"2026-03-01T16:00:00Z":           "2026-03-01 16:00:00 +0000 UTC",
		"2026-03-01T16:00:00+01:00":      "2026-03-01 15:00:00 +0000 UTC",
		"2026-03-01T16:00:00.25-00:30":   "2026-03-01 16:30:00.25 +0000 UTC",
		"2024-02-29T23:59:59.999999999Z": "2024-02-29 23:59:59.999999999 +0000 UTC",
	} {
		if at, err := ParseTime(s); err != nil || at.String() != utc {
			t.Errorf("%s is %v, %v; wanted %s", s, at, err, utc)
		}
	}
	for name, s := range map[string]string{
		"no offset":             "2026-03-01T16:00:00",
		"a date":                "2026-03-01",
		"a space for the T":     "2026-03-01 16:00:00Z",
		"an hour of one digit":  "2026-03-01T6:00:00Z",
		"a comma":               "2026-03-01T16:00:00,5Z",
		"an offset of 25 hours": "2026-03-01T16:00:00+25:00",
		"an offset of 24 hours": "2026-03-01T16:00:00-24:00",
		"an offset of 24.5 h":   "2026-03-01T16:00:00+24:30",
		"an offset of one part": "2026-03-01T16:00:00+01",
		"24 o'clock":            "2026-03-01T24:00:00Z",
		"a leap second":         "2016-12-31T23:59:60Z",
		"30 February":           "2026-02-30T16:00:00Z",
		"a slip of the year":    "0026-03-01T16:00:00Z",
		"no seconds":            "2026-03-01T16:00Z",
		"nothing":               "",
	} {
		if at, err := ParseTime(s); err == nil || !strings.Contains(err.Error(), "2026-03-01T16:00:00Z") {
			t.Errorf("%s (%q) is read as %v, %v", name, s, at, err)
		}
	}
}

func TestDatesAreWholeDays(t *testing.T) {
	for s, sound := range map[string]bool{"2026-03-01": true, "2024-02-29": true, "2026-02-29": false, "2026-3-1": false, "1 March": false, "2026-03-01T00:00:00Z": false} {
		if err := checkDate(s); (err == nil) != sound {
			t.Errorf("%q: %v", s, err)
		}
	}
}

func TestZonesAreIANAZones(t *testing.T) {
	for s, sound := range map[string]bool{"Europe/Dublin": true, "UTC": true, "Pacific/Chatham": true, "Local": false, "Europe/Saltgarth": false, "../../etc/passwd": false, "+01:00": false} {
		if err := checkZone(s); (err == nil) != sound {
			t.Errorf("%q: %v", s, err)
		}
	}
}

// RFC 9562 writes a UUID in 36 characters; its appendix A.6 has this version 7.
func TestIdsAreUUIDs(t *testing.T) {
	if !ValidID("017f22e2-79b0-7cc3-98c4-dc0c0c07398f") {
		t.Error("the example of RFC 9562 is refused")
	}
	draft := goldenDraft(t, "note")
	draft.ID = "017F22E2-79B0-7CC3-98C4-DC0C0C07398F"
	if e, err := draft.Fact(); err != nil || e.ID != "017f22e2-79b0-7cc3-98c4-dc0c0c07398f" {
		t.Errorf("in capitals it is %q, %v", e.ID, err)
	}
}

func TestIdsAndCodesFollowTheirPatterns(t *testing.T) {
	uuid := regexp.MustCompile(`^[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}\z`)
	code := regexp.MustCompile(strings.TrimSuffix(codePattern, "$") + `\z`)
	rapid.Check(t, func(t *rapid.T) {
		s := rapid.OneOf(
			rapid.StringMatching(`[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-g]{4}-[0-9a-f]{4}[-0][0-9a-f]{12}`),
			rapid.StringMatching(`[A-Za-z0-9._-][A-Za-z0-9._ é-]{0,66}`),
			rapid.String(),
		).Draw(t, "s")
		if ValidID(s) != uuid.MatchString(s) || ValidCode(s) != code.MatchString(s) {
			t.Fatalf("%q: id %v, code %v", s, ValidID(s), ValidCode(s))
		}
	})
}
