"""Materials prose in the manner of museums of five countries, and any text at all: each has a verdict, none makes the reader fail."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from collection.intake.text.materials import FLAGGED, NOT_ON_METAL, NOT_READ, ON_METAL
from tests.collection.intake.one_text import materials_of as read

# text > technique terms, base metal, finish; `-` for nothing stated; all invented
TABLE = """
Kupfer, emailliert > enamel_unspecified copper -
Email auf Kupfer > enamel_unspecified copper -
Maleremail auf Kupfer, teilvergoldet > painted copper gilded
Kupfer, Grubenschmelz, vergoldet > champleve copper gilded
Grubenschmelz auf vergoldetem Kupfer > champleve copper gilded
Gold, Zellenschmelz, Perlen > cloisonne gold -
Silber, vergoldet, Drahtemail > filigree silver gilded
Gold, guillochiert, transluzides Email, Diamanten > guilloche gold -
Silber, transluzides Email auf guillochiertem Grund > guilloche silver -
Porzellan, Aufglasurmalerei > not
Porzellan mit Emailfarben bemalt > not
Glas, emailliert > not
Glas, Emailbemalung > not
Kaltemail auf Silber > not
Fensteremail, Silber > plique_a_jour silver -
Kupferlegierung, Champlevé-Email > champleve copper_alloy -
Bronze, feuervergoldet, Cloisonné > cloisonne bronze gilded
Stahlblech, emailliert > enamel_unspecified steel -
Messing, vergoldet; Emailplaketten > enamel_unspecified brass gilded
Kupfer, Maleremail; Fassung: Bronze, vergoldet > painted copper -
Goldemail > enamel_unspecified gold -
Öl auf Leinwand > not
Elfenbein, Aquarell; Rahmen: Gold, Email > enamel_unspecified gold -
émail peint sur cuivre > painted copper -
émaux peints sur cuivre, rehauts d'or > painted copper -
cuivre, émail champlevé, doré > champleve copper gilded
cuivre champlevé, émaillé et doré > champleve copper gilded
émail champlevé sur cuivre doré > champleve copper gilded
cuivre doré, émaux champlevés > champleve copper gilded
or, émail, diamants > enamel_unspecified gold -
or émaillé > enamel_unspecified gold -
Montre en or émaillé > enamel_unspecified gold -
argent doré, émail de basse-taille > basse_taille silver gilded
vermeil et émail cloisonné > cloisonne silver gilded
bronze doré et émail cloisonné > cloisonne bronze gilded
émail cloisonné sur cuivre > cloisonne copper -
émail peint en grisaille sur cuivre > painted;grisaille copper -
or, émail en ronde-bosse, perles > ronde_bosse gold -
argent, émail plique-à-jour > plique_a_jour silver -
émail à jour, or > plique_a_jour gold -
verre émaillé > not
verre émaillé et doré > not
porcelaine dure, émaux polychromes > not
faïence, émail stannifère > not
émail à froid sur argent > not
grenats cloisonnés, or > not
tôle émaillée > enamel_unspecified;industrial steel -
émail sur cuivre, cadre en bois doré > enamel_unspecified copper -
laiton, émail > enamel_unspecified brass -
huile sur toile > not
coton appliqué > unread
Grisaille; Kupfer > unread
laque, argent > unread
miniature sur émail > painted - -
koper, geëmailleerd > enamel_unspecified copper -
geschilderd email op koper > painted copper -
goud, email > enamel_unspecified gold -
goud, geëmailleerd, bezet met diamanten > enamel_unspecified gold -
zilver, verguld, filigraanemail > filigree silver gilded
koper, verguld, champlevé email > champleve copper gilded
koper, cloisonné > cloisonne copper -
messing, cloisonné email > cloisonne brass -
geelkoper, verguld, email > enamel_unspecified brass gilded
porselein, geschilderd op het glazuur met emailkleuren > not
glas, geëmailleerd > not
gouden kast, messing uurwerk, geëmailleerde wijzerplaat > enamel_unspecified - -
zilver, vensteremail > plique_a_jour silver -
plaatstaal, geëmailleerd > enamel_unspecified steel -
emailverf op doek > not
email op metaal > enamel_unspecified unknown -
guld, emalj > enamel_unspecified gold -
guld, emalj på guillocherad botten > guilloche gold -
silver, förgyllt, emalj > enamel_unspecified silver gilded
koppar, målad emalj > painted copper -
emalj på koppar > enamel_unspecified copper -
målaremalj på koppar > painted copper -
koppar, cellemalj > cloisonne copper -
förgylld koppar, gropemalj > champleve copper gilded
silver, fönsteremalj > plique_a_jour silver -
porslin, emaljfärger > not
emaljerat glas > not
glas, emaljmålat > not
emaljerad plåt > enamel_unspecified;industrial - -
olja på duk > not
brons, cloisonnéemalj > cloisonne bronze -
mässing, emaljerad > enamel_unspecified brass -
Gold; enamel; diamonds > enamel_unspecified gold -
Cloisonné enamel on copper alloy, gilt > cloisonne copper_alloy gilded
Case: gold, enamel; dial: enamel; movement: brass, steel > enamel_unspecified gold -
gold case, brass movement, enamel dial > enamel_unspecified - -
Copper-gilt, champleve > champleve copper gilded
champlevé enamel on gilded copper > champleve copper gilded
Painted enamel on copper, partly gilt; silver-gilt mounts > painted copper gilded
Silver, parcel-gilt, and basse taille enamel > basse_taille silver gilded
Gold with plique à jour enamel > plique_a_jour gold -
Yūsen shippō on copper > cloisonne;yusen copper -
musen-jippō, silver rim > cloisonne;musen - -
Porcelain painted in overglaze enamels > not
Glass, enamelled and gilt > not
Enamel on porcelain > not
Enamel paint on board > not
oil and enamel on aluminum > not
Acrylic and enamel on canvas > not
Stove-enamelled steel > not
Japanned metal > not
Soft enamel badge, brass > not
Gold, garnet cloisonné > not
Niello on silver > not
Limoges porcelain > not
E-mail printed on paper > not
Photograph of an enamel > not
Silver, cold enamel > not
tōtai shippō (cloisonné on porcelain) > flagged
cloisonné enamel on a ceramic body > flagged
rock crystal, émail en résille > flagged
copper, bassetaille enamel > basse_taille copper -
chaplevé enamel on copper > champleve copper -
cloissonne enamel, brass > cloisonne brass -
gold and porcelain with enamel > flagged
silver gilt and niello with enamel > enamel_unspecified silver gilded
Enamel, gold > enamel_unspecified gold -
Vitreous enamel on steel > enamel_unspecified steel -
Brass and enamel (clock), with porcelain plaque > enamel_unspecified brass -
Jasperware > not
tin-glazed earthenware > not
Enamels and gold on copper > enamel_unspecified copper -
champlevé > champleve - -
"""


@pytest.mark.parametrize("line", TABLE.strip().splitlines())
def test_lines_in_the_manner_of_museums_of_five_countries(line):
    text, wanted = (part.strip() for part in line.split(" > "))
    row = read(text)
    if wanted in {"not", "flagged", "unread"}:
        assert row["verdict"] == {"not": NOT_ON_METAL, "flagged": FLAGGED, "unread": NOT_READ}[wanted]
    else:
        got = [";".join(row["technique"]), row["base_metal"] or "-", row["metal_finish"] or "-"]
        assert got == wanted.split()


WORDS = st.lists(
    st.sampled_from(
        [
            "enamel",
            "on",
            "gold",
            ",",
            ";",
            ":",
            "(",
            ")",
            "and",
            "with",
            "frame",
            "case",
            "painted",
            "filigree",
            "émail",
            "sur",
            "cuivre",
            "Email",
            "auf",
            "Glas",
            "porcelain",
            "guilloché",
            "cloisonné",
            "vergoldet",
            "wire",
            "in",
            "-",
            "&",
            "\n",
            "overglaze",
        ]
    )
)


@settings(deadline=None, max_examples=150)
@given(st.one_of(st.text(max_size=60), WORDS.map(" ".join)), st.text(max_size=20))
def test_no_text_makes_the_reader_fail(text, title):
    row = read(text, title=title)
    assert row["verdict"] in {ON_METAL, NOT_ON_METAL, FLAGGED, NOT_READ}
    assert bool(row["technique"]) == (row["verdict"] in {ON_METAL, FLAGGED})
