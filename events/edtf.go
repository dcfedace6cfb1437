package events

import (
	"fmt"
	"regexp"
	"strings"
	"time"
)

// Level 1 of the Extended Date/Time Format (ISO 8601-2:2019, annex A) for
// births and rescues: a date that is as uncertain as what people know.
var (
	edtfDate   = regexp.MustCompile(`^(\d{4})(-(\d{2}|XX)(-(\d{2}|XX))?)?[?~%]?$`)
	edtfYears  = regexp.MustCompile(`^(\d{3}X|\d{2}XX)[?~%]?$`)
	edtfSeason = regexp.MustCompile(`^\d{4}-2[1-4][?~%]?$`)
)

func checkEDTF(s string) error {
	from, to, interval := strings.Cut(s, "/")
	if !interval {
		return checkEDTFDate(s)
	}
	if open := func(part string) bool { return part == ".." || part == "" }; open(from) && open(to) {
		return errEDTF
	}
	for _, part := range []string{from, to} {
		if part == ".." || part == "" {
			continue
		}
		if err := checkEDTFDate(part); err != nil {
			return err
		}
	}
	return nil
}

var errEDTF = fmt.Errorf("write a date as precise as it is known (EDTF level 1): 2014-06-11, 2014-06, 2014-06-XX, 2014~, 2012/2014")

func checkEDTFDate(s string) error {
	if edtfSeason.MatchString(s) || edtfYears.MatchString(s) {
		return nil
	}
	part := edtfDate.FindStringSubmatch(s)
	if part == nil || (part[3] == "XX" && part[5] != "" && part[5] != "XX") { // X stands at the right alone
		return errEDTF
	}
	if _, err := time.Parse(time.DateOnly, earliest(part)); err != nil {
		return errEDTF
	}
	return nil
}

// earliest is the first day that the parts of a date allow.
func earliest(part []string) string {
	year, month, day := part[1], part[3], part[5]
	if month == "" || month == "XX" {
		month = "01"
	}
	if day == "" || day == "XX" {
		day = "01"
	}
	return year + "-" + month + "-" + day
}
