/**
 * What people call the large towns of Europe in the languages of the packers' page, where the list of towns has another name.
 * No kept-up list has these at less than many times the size of the towns themselves.
 */
const OTHERS: Readonly<Record<string, readonly string[]>> = {
  Athens: ['Athen', 'Atene', 'Atenas', 'Athènes', 'Ateny', 'Athene', 'Athina'],
  Antwerpen: ['Antwerp', 'Anvers', 'Amberes', 'Anversa', 'Antwerpia', 'Antuérpia'],
  Basel: ['Bâle', 'Basilea', 'Bazylea', 'Bazel', 'Basileia'],
  Belgrade: ['Belgrad', 'Beograd', 'Belgrado'],
  Brugge: ['Bruges', 'Brujas', 'Brugia'],
  Brussels: ['Brüssel', 'Bruxelles', 'Bruselas', 'Bruksela', 'Bruxelas'],
  Bucharest: ['Bukarest', 'București', 'Bucarest', 'Bukareszt', 'Boekarest', 'Bucareste'],
  Cologne: ['Köln', 'Keulen', 'Colonia', 'Kolonia'],
  Copenhagen: ['Kopenhagen', 'København', 'Copenhague', 'Copenaghen', 'Kopenhaga'],
  Edinburgh: ['Edinburg', 'Édimbourg', 'Edimburgo', 'Edynburg'],
  Florence: ['Florenz', 'Firenze', 'Florencia', 'Florencja', 'Florença'],
  Frankfurt: ['Frankfurt am Main', 'Frankfurt/Main', 'Francfort', 'Francoforte'],
  Gdańsk: ['Danzig', 'Danzica'],
  Geneva: ['Genf', 'Genève', 'Ginevra', 'Ginebra', 'Genewa', 'Genebra'],
  Genoa: ['Genua', 'Genova', 'Gênes'],
  Gent: ['Ghent', 'Gand', 'Gante', 'Gandawa'],
  Göteborg: ['Gothenburg', 'Gotenburg', 'Gotemburgo'],
  Hannover: ['Hanover', 'Hanovre', 'Hanower'],
  Katowice: ['Kattowitz'],
  Krakow: ['Krakau', 'Cracow', 'Cracovie', 'Cracovia'],
  Kyiv: ['Kiew', 'Kiev', 'Kijów'],
  Lisbon: ['Lissabon', 'Lisboa', 'Lisbonne', 'Lisbona', 'Lizbona'],
  Ljubljana: ['Laibach', 'Lubiana', 'Lublana'],
  Liège: ['Lüttich', 'Luik', 'Liegi', 'Lieja'],
  London: ['Londres', 'Londra', 'Londen', 'Londyn'],
  Luxembourg: ['Luxemburg', 'Luxemburgo', 'Lussemburgo', 'Luksemburg'],
  Milan: ['Mailand', 'Milano', 'Mediolan', 'Milaan', 'Milão'],
  Moscow: ['Moskau', 'Moskva', 'Moscou', 'Moscú', 'Mosca', 'Moskwa', 'Moskou', 'Moscovo'],
  Munich: ['München', 'Monaco di Baviera', 'Monachium', 'Munique'],
  Naples: ['Neapel', 'Napoli', 'Nápoles', 'Neapol', 'Napels'],
  Nice: ['Nizza', 'Niza', 'Nicea'],
  Nürnberg: ['Nuremberg', 'Norimberga', 'Norymberga', 'Neurenberg'],
  Paris: ['Parigi', 'Paryż', 'Parijs'],
  Poznań: ['Posen'],
  Prague: ['Prag', 'Praha', 'Praga', 'Praag'],
  Rome: ['Rom', 'Roma', 'Rzym'],
  Seville: ['Sevilla', 'Siviglia', 'Sewilla', 'Sevilha'],
  Strasbourg: ['Straßburg', 'Strasburgo', 'Estrasburgo', 'Straatsburg', 'Strasburg'],
  Szczecin: ['Stettin'],
  'The Hague': ['Den Haag', 'La Haye', 'La Haya', 'L’Aia', 'Haga'],
  Thessaloniki: ['Saloniki', 'Thessalonique', 'Salonicco', 'Salónica'],
  Turin: ['Torino', 'Turyn', 'Turim'],
  Venice: ['Venedig', 'Venezia', 'Venise', 'Venecia', 'Wenecja', 'Venetië', 'Veneza'],
  Vienna: ['Wien', 'Vienne', 'Viena', 'Wiedeń', 'Wenen'],
  Warsaw: ['Warschau', 'Warszawa', 'Varsovie', 'Varsovia', 'Varsavia'],
  Wrocław: ['Breslau', 'Breslavia'],
  Zürich: ['Zurigo', 'Zurych', 'Zurique'],
}

const UNMARKED: Readonly<Record<string, string>> = { ß: 'ss', ø: 'o', ł: 'l', æ: 'ae', '’': "'" }

/** Two spellings of one name are one to the person who types it. */
export const plainly = (text: string): string =>
  text
    .normalize('NFD')
    .replace(/\p{Mark}/gu, '')
    .toLowerCase()
    .replace(/[ßøłæ’]/g, (letter) => UNMARKED[letter] ?? letter)
    .trim()

export const townsWithOtherNames: readonly string[] = Object.keys(OTHERS)

const BY_NAME: ReadonlyMap<string, { town: string; name: string }> = new Map(
  Object.entries(OTHERS).flatMap(([town, names]) => names.map((name) => [plainly(name), { town: plainly(town), name }] as const)),
)

/** @param typed as 'plainly' gives it, also with 'ue' for 'ü' as on a keyboard without it; null: it goes by no other name */
export const townCalled = (typed: string): { town: string; name: string } | null =>
  BY_NAME.get(typed) ?? BY_NAME.get(unspelt(typed)) ?? null

/** 'Goettingen' is Göttingen, 'Aalborg' stays what it is. */
export const unspelt = (typed: string): string => typed.replace(/([aou])e/g, '$1')
