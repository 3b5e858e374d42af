package rank_test

import (
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/rank"
)

// identify answers GET /identify?card=26:32D687E. One ranker serves all requests at once. What is asked comes from
// outside: the errors quote it cut short and on one line, and nothing that is asked makes the library panic. Put it
// behind the log-in and the transport encryption of the application: a card number is a credential.
func identify(ranker *rank.Ranker) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		card, err := formats.ParseSightings(r.URL.Query().Get("card"))
		if err != nil {
			http.Error(w, err.Error(), http.StatusBadRequest)
			return
		}
		answer, err := ranker.Rank([]formats.Sightings{card})
		if err != nil {
			http.Error(w, err.Error(), http.StatusBadRequest)
			return
		}
		reply := struct {
			Format  string  `json:"format,omitempty"` // absent where no known format is likelier than none
			Sure    float64 `json:"sure"`
			Unknown float64 `json:"unknown"`
		}{Unknown: answer.Unknown}
		if best := answer.Candidates; len(best) > 0 && best[0].Probability > answer.Unknown {
			reply.Format, reply.Sure = best[0].Format.ID, best[0].Probability
		}
		w.Header().Set("Content-Type", "application/json")
		w.Header().Set("Cache-Control", "no-store")
		_ = json.NewEncoder(w).Encode(reply) // where it fails, the other side is gone
	})
}

// A web service that tells cards.
func Example_webService() {
	ranker, err := rank.New(formats.Builtin())
	if err != nil {
		fmt.Println(err)
		return
	}
	server := httptest.NewServer(identify(ranker))
	defer server.Close()
	for _, card := range []string{"26:32D687E=46143", "26:FFFFFFFF"} {
		resp, err := http.Get(server.URL + "?card=" + url.QueryEscape(card))
		if err != nil {
			fmt.Println(err)
			return
		}
		body, err := io.ReadAll(resp.Body)
		resp.Body.Close()
		fmt.Println(resp.StatusCode, strings.Contains(string(body), `"format":"26-8-16"`), err)
		if resp.StatusCode != http.StatusOK {
			fmt.Print(string(body))
		}
	}
	// Output:
	// 200 true <nil>
	// 400 false <nil>
	// parse bits "26:FFFFFFFF": FFFFFFFF needs more than 26 bits; give the number of bits the reader sent
}

// What a site is known to use is ranked first, and a card that is not of it is still told.
func ExampleNew() {
	ranker, err := rank.New(formats.Builtin(), formats.Population{
		Format: "26-8-16", Facilities: []uint64{121}, Numbers: []formats.Range{{First: 1, Last: 500}}, Printed: "pair",
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, text := range []string{"26:2F20057", "26:32D687E"} {
		card, err := formats.ParseSightings(text)
		if err != nil {
			fmt.Println(err)
			return
		}
		answer, err := ranker.Rank([]formats.Sightings{card})
		if err != nil {
			fmt.Println(err)
			return
		}
		fmt.Println(answer.Candidates[0].Format.ID, answer.Candidates[0].Probability > 0.99, answer.Warnings)
	}
	// Output:
	// 26-8-16 true []
	// 26-8-16 false [card 1 is none of the cards that the site file lists]
}
