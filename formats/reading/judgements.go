package reading

// Every number of judgement of this package is in this file, with its reason. No published counts were found for any of
// them; they are from memory of what lists have. How probable a card is among those of a site is not here: package
// evidence says that.

// Forms of a column.
const (
	// certain is the share from which a card is taken where a text can be another one too. One row in a million
	// may be wrong. A number by itself is taken from sureAlone on, by programs that turn one into another form: whoever
	// asks has the card in hand, or stands at its door, and sees at once that it is wrong. Of a list nobody looks at each
	// row, a wrong one shows when it opens a door to somebody else, and rows are wrong together: from sureAlone on one
	// list in a hundred would be wrong in all rows that share a doubt.
	certain, sureAlone = 0.999999, 0.99

	// stranger is the share from which a text is in doubt that is a card of the site in one form, and in another form,
	// just as that writes it, one that is none of the site's. It is not as small as what is left of certain: lists of
	// cardholders have hardly any such cards, and where the numbers of one kind look like those of another kind, all of
	// them could be one.
	stranger = 0.05

	// mistyped is the share from which a number that lies by itself is in doubt because it is a slip away from others. It is
	// smaller than stranger: slips are usual.
	mistyped = 0.001

	// oneAlone is the share from which a number in the midst of those of its kind is in doubt because it can be a card of
	// another kind, that would be by itself there. It is larger than what is left of certain: rows are not wrong together,
	// and slips that nobody sees are more usual.
	oneAlone = 0.001

	// asDoor is how usual it is that a list has numbers in the form of a door, against that in which they are printed.
	asDoor = 0.05

	// mixed is how usual it is that a list has cards of one kind both as they are printed and in the form of a door, where
	// it has some in either: it was put together at one time, from one source.
	mixed = 0.05

	// asGuessed is how usual each of the forms is in which a list can have the cards of a kind, where nothing tells which,
	// against those that are known of other kinds.
	asGuessed = 0.05

	// usual is how many rows the forms weigh that no row speaks for: a column that explained itself would grow sure of
	// anything.
	usual = 2.0

	// alternative is the share from which one way to read all texts that are written alike says in which numbers such
	// cards have, of each of them. Texts that have one of less than that, and more than what is left of certain, are in
	// doubt, whatever the others say of each: it is one question for all of them.
	alternative = 0.01

	// leastOfBox is how many numbers near one another, of one facility and alike but for the last boxBits bits, may be
	// another kind than others that could be written so too.
	leastOfBox, boxBits = 3, 12

	// rarely is the weight of a form that few numbers of a list have.
	rarely = 0.05

	// hardlyAny is which part of the cards of a kind, as one in so many, have a facility that says nothing of other cards:
	// it may be typed wrong, and twice.
	hardlyAny = 20

	// fewOfFacility is how few cards of a facility are taken for mistakes, where another one has twenty times as many.
	fewOfFacility = 2

	// enoughHex is how many different numbers in hex have a letter somewhere: ten in sixteen last digits are none, so
	// that none of thirty numbers has one once in a million lists, and never where they count up.
	enoughHex = 30

	// fewShown is how many texts at least have a form that is seen in a list of as many or more; mostGuesses how many ways
	// to give each kind its form are tried, which are more than any site file has.
	fewShown, mostGuesses = 3, 4096

	// mostUnread is how many texts that can't be read show in which form they are.
	mostUnread = 40

	// farLikelier is by how much one way to read a list is likelier than another one, as a log, so that it is the one: a
	// million times, and a hundred for how much more usual a form may be than another. twoBytes is that for each card
	// where the ways differ in the order of bytes: more than one byte makes of it that is the same in all.
	farLikelier, twoBytes = 18.0, 8.0

	// mostWholes is how many ways to read all lots of a list are kept while these are gone through, and farFetched the log
	// of by how much one is less likely than another that is not: less than what is left of certain.
	mostWholes, farFetched = 32, 20.0

	// enough is how many numbers say where others lie: each row in doubt is held against them.
	enough = 20
)

// Strangers: cards that the site file does not have.
const (
	// hasStrangers is how usual it is that a list has cards of one more kind than the site file, or in one more form;
	// nothingElse the part of that where it has no others. A file that is given for a list is for that list.
	hasStrangers, nothingElse = 0.01, 0.001

	// fewStrangers is how sharply the share of a list's cards that are strangers falls off, where it has some: by its
	// power less 1 of the share that are none. One in five on average.
	fewStrangers = 4.0

	// otherwise is the share of strangers that are cards of the site's own kinds, in a form that its file does not say.
	otherwise = 0.3

	// neighbouring is the share of strangers that are cards of one of the site's kinds, written as its file says, and of
	// another facility than it says.
	neighbouring = 0.5

	// rarelyListed is the weight of a form that is not printed on cards of its kind: lists come from panels too.
	rarelyListed = 0.005

	// cutShort is how usual it is that a list has the low cutBits bits of the site's numbers that are wider, as bare numbers.
	// Serials are printed so here and there.
	cutShort, cutBits = 0.01, 16

	// anotherOrder is the chance that cards of a kind were ordered again, with numbers of their own.
	anotherOrder = 0.3

	// anyhow is the share of kinds whose numbers lie anyhow in their field.
	anyhow = 0.3

	// twice is how usual it is that a list has a card again, written otherwise.
	twice = 0.3

	// allLost is how usual it is that a spreadsheet has taken a whole column for numbers, and the zeros before them.
	allLost = 0.25

	// allPadded is how usual it is that a list fills all numbers up with zeros that are printed without.
	allPadded = 0.02

	// typedWrong is how usual it is that a text is typed wrong, before a list says how many are; justThis the log of how
	// probable it is that it is then just this one, that is a slip away from another.
	typedWrong, justThis = 0.01, -4.4

	// stemDigits is how many digits at its end say where a number lies among those of a block.
	stemDigits = 3

	// mostStrangers is how many ways to write a stranger stay in a plan.
	mostStrangers = 8
)

// What is done to cells.
const (
	// asMended is how usual it is that a cell is not as the form writes it, where the column does not say: zeros before a
	// number are lost, a number is written with too many.
	asMended = 0.05

	// asPadded is how usual it is that a number that is written without zeros before it has just so many that another form
	// fits.
	asPadded = 0.0001

	// oneLost is how usual it is that a digit of a number is missing, at any place; lastLost that the last one is, by
	// a narrow field or a key held too long; twoLost that the last two are.
	oneLost, lastLost, twoLost = 0.002, 0.001, 0.0003

	// oneWrong, twoSwapped and oneMore are how usual it is that a number was typed so; see oneLost. A digit too many is
	// the one beside it typed twice in the share typedTwice, or else any.
	oneWrong, twoSwapped, oneMore = 0.002, 0.001, 0.001
	typedTwice                    = 0.5

	// Where more than one in losing of a column's numbers have lost their zeros, or known of them have and none has kept
	// them, a spreadsheet has taken the whole column for numbers: it has lost nothing else. Those count of which that
	// is the explanation at a share of likely.
	losing, known, likely = 4, 8, 0.9

	// byItself is how many times as far as usual a number has to some others that lies by itself; fewest how many numbers
	// say that of one.
	byItself, fewest = 20, 4

	// likelierThanPair is the log of how probable a number has to be among those of its kind, for it to be taken from
	// two groups of digits: a hundred times as probable as one pair of 255 facilities and a thousand numbers. Cards of
	// other sites, for which people write the facility, are thought to be as usual as signs between thousands.
	likelierThanPair = -7.8

	// nearby is how far beyond the others a number lies that goes with them.
	nearby = 100
)

// narrow are the widths in bits of fields as which numbers count up in wider ones.
var narrow = [...]int{16, 20, 24}
