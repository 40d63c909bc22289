"""What the page foresees is what the job makes: the same nouns, whichever stages were kept."""

import json
from pathlib import Path

import jsonschema

from conftest import ROOT, TERN_LID, Made
from purfle.files.job_folder import read_job_folder
from purfle.foreseen import Asked, fingerprint, foresee, glimpse
from purfle.web.answers import coarse, exact
from purfle.web.dressing import dressing
from purfle.web.shelf import Shelf

TERN = (TERN_LID / "job.toml").read_text(encoding="utf-8")


def test_what_is_foreseen_is_what_is_made_also_from_kept_stages(tern_lid: Made, tmp_path: Path) -> None:
    made, _ = tern_lid
    done: list[str] = []
    for name in ("bare", "shelf"):
        (tmp_path / name).mkdir()
    shelf = Shelf(tmp_path / "shelf", done.append)
    job, shop = read_job_folder(TERN_LID)
    moved, _ = read_job_folder(TERN_LID, TERN.replace('"74 mm"', '"80 mm"').encode())
    assert glimpse(Asked.of(job, shop), shelf).design is None
    foresee(Asked.of(moved, shop), shelf)
    done.clear()
    again = foresee(Asked.of(job, shop), Shelf(tmp_path / "shelf", done.append))
    # moved back: the areas, the fits, the places on the offcuts and the plans of all offcuts are the ones that were
    assert set(done) == {"board", "plan"}
    assert done.count("plan") <= 3
    for name in ("layout", "on_offcuts", "cutting", "findings", "chances", "seasons", "keys", "carrying", "reckoning"):
        assert fingerprint(getattr(again, name)) == fingerprint(getattr(made, name)), name
    told, full = coarse(TERN_LID, TERN, shelf), exact(TERN_LID, TERN, shelf)
    off = exact(TERN_LID, TERN.replace("centred    = true", 'from_left  = "300 mm"'), shelf)
    assert (off["mark"], off["faults"][0]["what"]) == ("stop", "picture does not lie on the board")
    schema = json.loads((ROOT / "docs" / "page.schema.json").read_text(encoding="utf-8"))
    for document in (coarse(TERN_LID, TERN, Shelf(tmp_path / "bare")), told, full, off):
        jsonschema.Draft202012Validator(schema).validate(json.loads(json.dumps(document)))
    assert [one["d"] for one in told["pieces"]] == [one["d"] for one in full["pieces"]]
    assert len(full["pieces"]) == 15
    assert sum(len(one["parts"]) for one in full["rack"]) == 18


def test_what_a_sentence_dresses_the_drawing_with_is_what_the_job_has(tern_lid: Made, tmp_path: Path) -> None:
    made, _ = tern_lid
    shelf = Shelf(tmp_path)
    of = {what: dressing(TERN_LID, TERN, what, shelf) for what in ("seam", "thickness", "detail", "passes", "season")}
    seams = [inlay.fit.seam for inlay in made.layout.inlays if inlay.kind == "picture"]
    least, most = of["seam"]["marks"]
    assert least["width"] == min(one.narrowest for one in seams)
    assert most["width"] == max(one.widest for one in seams)
    assert most["where"] == "bill"
    levels = of["thickness"]["levels"]
    assert levels[0]["left"] == min(one.left for one in made.layout.wood_left)
    assert levels[-1]["by"] == []
    assert made.seasons is not None
    # the year's curve reaches what the seasons were reckoned at, and never leaves it
    months = of["season"]["months"]
    assert max(one["widest"] for one in months) == round(max(i.widest.width for i in made.seasons.inserts), 4)
    assert min(one["narrowest"] for one in months) == round(min(i.narrowest.width for i in made.seasons.inserts), 4)
    assert len(of["passes"]["set_ups"]) == len(made.cutting.set_ups)
    lost = [one for inlay in made.layout.inlays for one in inlay.fit.pieces.lost]
    assert 0 < sum(one["kind"] != "corner" for one in of["detail"]["gone"]) <= len(lost)
    inches = dressing(TERN_LID, TERN.replace('units = "mm" ', 'numbers = "mm"\nunits = "inch" '), "seam", shelf)
    assert inches["marks"][1]["shown"] == "0.0044 in"
