package web_test

import (
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"
	"testing"

	"haulout/web"
)

// eighteen is a straight order of eighteen with a little against it.
func eighteen() web.Picture {
	p := web.Picture{Title: "Order of eighteen <invented> animals", Sentence: "A provisional order: A & B can’t be told apart yet.", Source: "Source: invented for this test."}
	for i := range 18 {
		p.Animals = append(p.Animals, web.PictureAnimal{Name: fmt.Sprintf("Animal %c", 'A'+i), First: max(1, i), Likeliest: i + 1, Last: min(18, i+3)})
		p.Wins = append(p.Wins, make([]float64, 18))
	}
	for i := range 18 {
		for j := i + 1; j < 18; j++ {
			p.Wins[i][j] = float64((i*7+j*3)%23) / 2
		}
	}
	p.Wins[9][3] = 12
	p.Near = [][2]int{{0, 1}, {1, 2}, {4, 7}}
	return p
}

func TestAnOrderIsOnePictureByItself(t *testing.T) {
	var out bytes.Buffer
	if err := web.OrderPicture(&out, eighteen()); err != nil {
		t.Fatal(err)
	}
	if path := os.Getenv("HAULOUT_PICTURE"); path != "" {
		if err := os.WriteFile(path, out.Bytes(), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	picture, texts := out.String(), 0
	for d := xml.NewDecoder(&out); ; {
		token, err := d.Token()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			t.Fatalf("the picture is not sound: %v\n%s", err, picture)
		}
		if el, ok := token.(xml.StartElement); ok && el.Name.Local == "text" {
			texts++
		}
		if el, ok := token.(xml.StartElement); ok && (el.Name.Local == "image" || el.Name.Local == "script" || el.Name.Local == "use") {
			t.Errorf("the picture needs something else: <%s>", el.Name.Local)
		}
	}
	for part, times := range map[string]int{`class="dot"`: 18 + 1, `class="bracket"`: 3 + 1, `class="against none"`: 1 + 1, "Animal R": 3, "&lt;invented&gt;": 2, "Source: invented for this test.": 1} {
		if n := strings.Count(picture, part); n != times {
			t.Errorf("%q stands %d times in it, want %d", part, n, times)
		}
	}
	if !strings.Contains(picture, `width="900"`) || texts < 18*2+18*17/2 {
		t.Errorf("%d texts in %s", texts, picture[:200])
	}
}

func TestAPictureThatCantBeDrawn(t *testing.T) {
	for say, spoil := range map[string]func(*web.Picture){
		"animals: 1":   func(p *web.Picture) { p.Animals = p.Animals[:1] },
		"wins:":        func(p *web.Picture) { p.Wins[3] = nil },
		"from 1 to 18": func(p *web.Picture) { p.Animals[2].Last = 19 },
		"near: rows 0": func(p *web.Picture) { p.Near = [][2]int{{0, 18}} },
	} {
		p := eighteen()
		spoil(&p)
		if err := web.OrderPicture(io.Discard, p); err == nil || !strings.Contains(err.Error(), say) {
			t.Errorf("got %v, want %s", err, say)
		}
	}
}
