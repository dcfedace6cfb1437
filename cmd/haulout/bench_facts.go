package main

import (
	"encoding/json"
	"fmt"
	"time"

	"github.com/google/uuid"

	"haulout/events"
)

// benchAnimals is the colony that the sizing of the plan counts with: 100
// animals, 53 records each a day.
const benchAnimals = 100

// benchStep is how far apart two facts of the whole colony are.
const benchStep = 24 * time.Hour / (53 * benchAnimals)

var benchStart = time.Date(2020, 1, 1, 0, 0, 0, 0, time.UTC)

func benchAnimal(i int) string { return fmt.Sprintf("animal-%03d", i%benchAnimals) }

// benchGroup is how many animals live in one pool.
const benchGroup = 10

func benchPool(i int) string { return fmt.Sprintf("pool-%d", i%benchAnimals/benchGroup) }

// benchOther is another animal of the same pool.
func benchOther(i int) string {
	n := i % benchAnimals
	return benchAnimal(n/benchGroup*benchGroup + (n+1+i/benchAnimals%(benchGroup-1))%benchGroup)
}

// benchOpening makes a facility with its animals and foods.
func benchOpening() []events.Draft {
	draft := func(kind, body string) events.Draft {
		return benchDraft(kind, benchStart, body)
	}
	out := []events.Draft{
		draft("facility.opened", `{"name":"Bench","zone":"Europe/Dublin"}`),
		draft("food.described", `{"food":"herring","name":"Herring","energy":{"value":"158","unit":"kcal"},"basis":"metabolizable_atwater","source":"USDA SR, NDB 15039"}`),
		draft("food.described", `{"food":"squid","name":"Squid","energy":{"value":"92","unit":"kcal"},"basis":"metabolizable_atwater","source":"USDA SR, NDB 15175"}`),
		draft("lot.received", `{"lot":"h-0612","food":"herring","mass":{"value":"9000","unit":"kg"}}`),
	}
	for i := 0; i < benchAnimals; i += benchGroup {
		out = append(out, draft("enclosure.described", fmt.Sprintf(`{"enclosure":%q,"name":%q}`, benchPool(i), benchPool(i))))
	}
	for i := range benchAnimals {
		a := benchAnimal(i)
		out = append(out,
			draft("animal.entered", fmt.Sprintf(`{"animal":%q,"name":%q,"taxon":"Zalophus californianus","sex":"female","how":"birth","born":"2012"}`, a, a)),
			draft("animal.placed", fmt.Sprintf(`{"animal":%q,"enclosure":%q}`, a, benchPool(i))),
			draft("ration.set", fmt.Sprintf(`{"animal":%q,"items":[{"food":"herring","mass":{"value":"3.5","unit":"kg"}},{"food":"squid","mass":{"value":"1","unit":"kg"}}],"times":["08:30","15:30"]}`, a)),
			draft("behaviour.planned", fmt.Sprintf(`{"behaviour":"still-%03d","animal":%q,"name":"lie still","purpose":"care","steps":[{"step":"lies down"}]}`, i, a)))
	}
	return out
}

func benchDraft(kind string, at time.Time, body string) events.Draft {
	return events.Draft{
		ID: uuid.Must(uuid.NewV7()).String(), Type: events.TypeOf(kind), Time: at.Format(time.RFC3339), Facility: "bench", Data: json.RawMessage(body),
	}
}

// benchFeed is the i-th feed of a colony that is fed all round the clock.
func benchFeed(i int) events.Draft {
	return benchDraft("feed.given", benchStart.Add(time.Duration(i)*benchStep), fmt.Sprintf(
		`{"animal":%q,"how":"hand","items":[{"food":"herring","lot":"h-0612","offered":{"value":"0.%d","unit":"kg"},"eaten":{"value":"0.%d","unit":"kg"}},{"food":"squid","offered":{"value":"0.2","unit":"kg"},"eaten":{"value":"0.2","unit":"kg"}}]}`,
		benchAnimal(i), 300+i%600, 200+i%100))
}

// benchFact is the i-th fact of an ordinary day, in about the mix of the plan:
// of 53 records 32 are trials, 8 feeds, and some of everything else.
func benchFact(i int) events.Draft {
	at, a := benchStart.Add(time.Duration(i)*benchStep), benchAnimal(i)
	switch n := i / benchAnimals % 53; {
	case n < 32:
		return benchDraft("trial.scored", at, fmt.Sprintf(`{"animal":%q,"behaviour":"still-%03d","step":1,"outcome":%q}`, a, i%benchAnimals, []string{"met", "met", "missed", "no_try"}[i%4]))
	case n < 40:
		return benchFeed(i)
	case n < 41:
		return benchDraft("weight.taken", at, fmt.Sprintf(`{"animal":%q,"mass":{"value":"%d.%d","unit":"kg"},"scale":"deck","coat":"dry"}`, a, 80+i%9, i%10))
	case n < 44:
		return benchDraft("check.made", at, fmt.Sprintf(`{"animal":%q}`, a))
	case n < 48:
		return benchDraft("encounter.seen", at, fmt.Sprintf(`{"winner":%q,"loser":%q,"signal":"threat","enclosure":%q}`, a, benchOther(i), benchPool(i)))
	case n < 50:
		return benchDraft("enrichment.offered", at, fmt.Sprintf(`{"animals":[%q],"item":"ice block","sort":"food"}`, a))
	case n < 52:
		return benchDraft("session.held", at, fmt.Sprintf(`{"session":"s-%d","animal":%q,"came":"at_once"}`, i, a))
	}
	switch (i/benchAnimals/53 + i) % 7 {
	case 0:
		return benchDraft("coat.scored", at, fmt.Sprintf(`{"animal":%q,"stage":"%d"}`, a, i/benchAnimals/53/7%6))
	case 1:
		return benchDraft("medication.given", at, fmt.Sprintf(`{"animal":%q,"medication":"drops","dose":{"value":"0.2","unit":"mL"}}`, a))
	}
	return benchDraft("note", at, fmt.Sprintf(`{"text":"quiet, watching the gate for most of the afternoon","animals":[%q]}`, a))
}
