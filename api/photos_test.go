package api

import (
	"bytes"
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"fmt"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
	"net/http"
	"testing"

	"github.com/bep/imagemeta"
)

// picture is a JPEG that is red in its upper left part as it was meant to be
// seen, and blue elsewhere, with the notes of a camera that was held in one of
// the eight ways of the EXIF standard (CIPA DC-008, tag 274).
func picture(t *testing.T, width, height, held int) []byte {
	t.Helper()
	if held >= 5 {
		width, height = height, width
	}
	m := image.NewRGBA(image.Rect(0, 0, width, height))
	for x := range width {
		for y := range height {
			m.Set(x, y, color.RGBA{0, 0, 255, 255})
			if left, top := x < width/2, y < height/2; cornerOf[held] == [2]bool{left, top} {
				m.Set(x, y, color.RGBA{255, 0, 0, 255})
			}
		}
	}
	var out bytes.Buffer
	if err := jpeg.Encode(&out, m, &jpeg.Options{Quality: 95}); err != nil {
		t.Fatal(err)
	}
	return withNotes(out.Bytes(), held)
}

// cornerOf says in which corner of the stored pixels the upper left of the scene
// lies, by the standard's table of rows and columns: left, top.
var cornerOf = map[int][2]bool{
	1: {true, true}, 2: {false, true}, 3: {false, false}, 4: {true, false},
	5: {true, true}, 6: {true, false}, 7: {false, false}, 8: {false, true},
}

// withNotes puts an EXIF segment after the first two bytes of a JPEG: how it was
// held, and the maker of the camera.
func withNotes(raw []byte, held int) []byte {
	maker := "Nobody Cameras\x00"
	tiff := []byte("MM\x00*\x00\x00\x00\x08\x00\x02")
	entry := func(tag, kind uint16, count, value uint32) {
		tiff = binary.BigEndian.AppendUint16(binary.BigEndian.AppendUint16(tiff, tag), kind)
		tiff = binary.BigEndian.AppendUint32(binary.BigEndian.AppendUint32(tiff, count), value)
	}
	entry(0x010f, 2, uint32(len(maker)), 38)
	entry(0x0112, 3, 1, uint32(held)<<16)
	tiff = append(append(tiff, 0, 0, 0, 0), maker...)
	body := append([]byte("Exif\x00\x00"), tiff...)
	segment := append(binary.BigEndian.AppendUint16([]byte{0xff, 0xe1}, uint16(len(body)+2)), body...)
	return append(append(append([]byte{}, raw[:2]...), segment...), raw[2:]...)
}

func (s *site) keep(as string, raw []byte) answer {
	s.t.Helper()
	return s.ask(as, http.MethodPost, "/api/v1/photos?facility=saltgarth", raw, "Content-Type", "image/jpeg")
}

type kept struct {
	Digest               string
	Bytes, Width, Height int
}

func TestAPhotoIsKeptUprightAndWithoutNotes(t *testing.T) {
	s := openSite(t)
	for held := 1; held <= 8; held++ {
		raw := picture(t, 2400, 1200, held)
		if !bytes.Contains(raw, []byte("Nobody Cameras")) {
			t.Fatal("the picture has no notes to lose")
		}
		var got kept
		s.keep(keeper, raw).want(http.StatusCreated).json(&got)
		back := s.get(keeper, "/api/v1/photos/"+got.Digest).want(http.StatusOK)
		if sum := sha256.Sum256(back.body); hex.EncodeToString(sum[:]) != got.Digest || len(back.body) != got.Bytes {
			t.Errorf("held %d: other bytes came back", held)
		}
		if got.Width != 1600 || got.Height != 800 {
			t.Errorf("held %d: %d by %d", held, got.Width, got.Height)
		}
		if notes := notesIn(t, back.body); notes != 0 || bytes.Contains(back.body, []byte("Nobody")) {
			t.Errorf("held %d: %d notes were kept", held, notes)
		}
		if !redAtUpperLeft(t, back.body) {
			t.Errorf("held %d: it does not stand upright", held)
		}
	}
}

// notesIn counts what a reader of metadata finds.
func notesIn(t *testing.T, raw []byte) (n int) {
	t.Helper()
	_, err := imagemeta.Decode(imagemeta.Options{
		R: bytes.NewReader(raw), ImageFormat: imagemeta.JPEG, Sources: imagemeta.EXIF | imagemeta.IPTC | imagemeta.XMP,
		HandleTag: func(imagemeta.TagInfo) error { n++; return nil },
	})
	if err != nil {
		t.Fatal(err)
	}
	return n
}

func redAtUpperLeft(t *testing.T, raw []byte) bool {
	t.Helper()
	m, err := jpeg.Decode(bytes.NewReader(raw))
	if err != nil {
		t.Fatal(err)
	}
	red := func(x, y int) bool { r, _, b, _ := m.At(x, y).RGBA(); return r > b }
	return red(100, 100) && !red(1500, 100) && !red(100, 700) && !red(1500, 700)
}

func TestTheSamePhotoIsKeptOnce(t *testing.T) {
	s := openSite(t)
	var first, second kept
	s.keep(keeper, picture(t, 300, 200, 1)).want(http.StatusCreated).json(&first)
	s.keep(keeper, picture(t, 300, 200, 1)).want(http.StatusCreated).json(&second)
	if first != second || first.Width != 300 {
		t.Errorf("%+v and %+v", first, second)
	}
	s.mustRecord(keeper, s.fact("looked", "check.made", "saltgarth", `{"animal":"marl","findings":[{"region":"skin","word":"scratch","photo":"`+first.Digest+`"}]}`))
}

func TestAPhotoOutlivesTheNode(t *testing.T) {
	s := openSite(t)
	var one kept
	s.keep(keeper, picture(t, 30, 20, 1)).want(http.StatusCreated).json(&one)
	s.close()
	again := openFolder(t, s.dir, 0)
	again.get(keeper, "/api/v1/photos/"+one.Digest).want(http.StatusOK)
}

func TestWhatIsNoPhotoIsRefusedWithTheReason(t *testing.T) {
	s := openSite(t)
	whole := picture(t, 300, 200, 1)
	var wide, clear bytes.Buffer
	if err := png.Encode(&wide, image.NewGray(image.Rect(0, 0, 25_000_001, 1))); err != nil {
		t.Fatal(err)
	}
	if err := png.Encode(&clear, image.NewNRGBA(image.Rect(0, 0, 20, 10))); err != nil {
		t.Fatal(err)
	}
	for name, c := range map[string]struct {
		raw    []byte
		status int
		says   string
	}{
		"text":             {[]byte("no picture at all"), 422, "no JPEG and no PNG"},
		"nothing":          {nil, 422, "no JPEG and no PNG"},
		"broken off":       {whole[:len(whole)/2], 422, "breaks off"},
		"too many pixels":  {wide.Bytes(), 422, "24 million"},
		"too many bytes":   {bytes.Repeat([]byte{0xff}, maxPhoto+1), 413, "12 MiB"},
		"damaged notes":    {bytes.Replace(whole, []byte("MM\x00*"), []byte("MM\xff\xff"), 1), 201, ""},
		"a clear PNG":      {clear.Bytes(), 201, ""},
		"an empty picture": {[]byte("\x89PNG\r\n\x1a\n"), 422, "no JPEG and no PNG"},
	} {
		got := s.keep(keeper, c.raw).want(c.status)
		if !bytes.Contains(got.body, []byte(c.says)) {
			t.Errorf("%s: %s", name, got.body)
		}
	}
	s.ask(keeper, http.MethodPost, "/api/v1/photos", whole).problem(http.StatusBadRequest)
	s.ask(keeper, http.MethodPost, "/api/v1/photos?facility=wrackline-bay", whole).problem(http.StatusForbidden)
	s.get(keeper, "/api/v1/photos/abc").problem(http.StatusBadRequest)
	s.get(keeper, fmt.Sprintf("/api/v1/photos/%064d", 1)).problem(http.StatusNotFound)
}
