"""The record of each kind of finding as plain values, ready for JSON."""

from functools import singledispatch

from riffract.analysis.finding import (
    Anchor,
    AttackContent,
    Collection,
    CollectionChange,
    Deviation,
    Drone,
    Edit,
    Gesture,
    Hand,
    MetreAnswer,
    Mirror,
    Motive,
    Passes,
    Pattern,
    Reading,
    Sonority,
    What,
)
from riffract.analysis.what.motive import Family, MotivePlace
from riffract.publish.plain_values import Json, number, span_as_json


@singledispatch
def what_as_json(what: What) -> dict[str, Json]:
    """Give the record of one kind of finding as plain values."""
    raise TypeError(f"no JSON is defined for {type(what).__name__}")


@what_as_json.register
def _passes(what: Passes) -> dict[str, Json]:
    return {"of": what.of, "readings": [_reading(reading) for reading in what.readings]}


def _reading(reading: Reading) -> dict[str, Json]:
    return {
        "template": span_as_json(reading.template),
        "passes": [
            {
                "span": span_as_json(one.span),
                "edits": [_edit(edit) for edit in one.edits],
                "truncated": one.truncated,
                "transposition": one.transposition,
            }
            for one in reading.passes
        ],
        "other": [
            {"span": span_as_json(other.span), "role": other.role} for other in reading.other
        ],
        "bits": number(reading.bits),
    }


def _edit(edit: Edit) -> dict[str, Json]:
    return {
        "op": edit.op,
        "at": str(edit.at_quarters),
        "expected": _content(edit.expected),
        "found": _content(edit.found),
    }


@what_as_json.register
def _mirror(what: Mirror) -> dict[str, Json]:
    return {
        "of": what.of,
        "axis": str(what.axis_quarters),
        "axis_pitch": None if what.axis_pitch is None else str(what.axis_pitch),
        "core_quarters": str(what.core_quarters),
        "reach_quarters": str(what.reach_quarters),
        "left": span_as_json(what.left),
        "right": span_as_json(what.right),
        "limb_ratio": number(what.limb_ratio),
        "scale": number(what.scale),
        "deviations": [_deviation(deviation) for deviation in what.deviations],
        "nested": [
            {
                "of": one.of,
                "axis": str(one.axis_quarters),
                "left": span_as_json(one.left),
                "right": span_as_json(one.right),
                "place": one.place,
                "finding": one.finding,
            }
            for one in what.nested
        ],
        "inside": what.inside,
        "follows_from": list(what.follows_from),
    }


def _deviation(deviation: Deviation) -> dict[str, Json]:
    return {
        "at": str(deviation.at_quarters),
        "expected": _content(deviation.expected),
        "found": _content(deviation.found),
        "semitones_off": deviation.semitones_off,
        "quarters_off": None if deviation.quarters_off is None else str(deviation.quarters_off),
    }


@what_as_json.register
def _gesture(what: Gesture) -> dict[str, Json]:
    return {
        "limbs": [
            {
                "span": span_as_json(limb.span),
                "direction": limb.direction,
                "semitones": limb.semitones,
                "slope": number(limb.slope),
            }
            for limb in what.limbs
        ],
        "ratio": None if what.ratio is None else number(what.ratio),
        "contour": list(what.contour),
    }


@what_as_json.register
def _sonority(what: Sonority) -> dict[str, Json]:
    return {
        "prime_form": list(what.prime_form),
        "forte": what.forte,
        "how": what.how,
        "occurrences": [span_as_json(span) for span in what.occurrences],
        "share": number(what.share),
        "is_first_sound": what.is_first_sound,
        "forte_form": list(what.forte_form),
        "ways_up": [{"form": list(form), "count": count} for form, count in what.ways_up],
        "with_ringing": [{"forte": forte, "count": count} for forte, count in what.with_ringing],
    }


@what_as_json.register
def _collection(what: Collection) -> dict[str, Json]:
    return {
        "family": what.family,
        "form": what.form,
        "pcs": list(what.pcs),
        "fragment": what.fragment,
        "inside_share": number(what.inside_share),
        "foreign": [{"at": str(note.at_quarters), "pc": note.pc} for note in what.foreign],
        "missing": list(what.missing),
        "with_drone": what.with_drone,
        "also_in": list(what.also_in),
        "by_attacks": what.by_attacks,
        "by_time": what.by_time,
        "with_ringing": what.with_ringing,
    }


@what_as_json.register
def _collection_change(what: CollectionChange) -> dict[str, Json]:
    return {
        "from": what.from_form,
        "to": what.to_form,
        "at": str(what.at_quarters),
        "common_pcs": list(what.common_pcs),
        "transposition": what.transposition,
        "same_family": what.same_family,
        "places": [
            {"at": str(place.at_quarters), "certainty": number(place.certainty)}
            for place in what.places
        ],
        "from_limbs": what.from_limbs,
        "to_limbs": what.to_limbs,
    }


@what_as_json.register
def _drone(what: Drone) -> dict[str, Json]:
    return {
        "string": what.string,
        "pitch": what.pitch,
        "open": what.is_open,
        "position": what.position,
        "colours": [
            {"at": str(colour.at_quarters), "semitones": colour.semitones, "name": colour.name}
            for colour in what.colours
        ],
        "totals": [
            {
                "semitones": total.semitones,
                "count": total.count,
                "quarters": str(total.quarters),
                "roughness": number(total.roughness),
            }
            for total in what.totals
        ],
        "crossings": [str(at) for at in what.crossings],
        "only_with_it": list(what.only_with_it),
        "turns": [
            {"without": one.without, "together": one.together, "quarters": str(one.quarters)}
            for one in what.turns
        ],
        "rough": [
            {
                "span": span_as_json(one.span),
                "without": number(one.without),
                "together": number(one.together),
            }
            for one in what.rough
        ],
        "other_strings": [
            {
                "string": one.string,
                "fret": one.fret,
                "busy_share": number(one.busy_share),
                "semitones": one.semitones,
            }
            for one in what.other_strings
        ],
    }


@what_as_json.register
def _anchor(what: Anchor) -> dict[str, Json]:
    return {
        "pitch": what.pitch,
        "intervals": {
            str(semitones): {"count": tally.count, "quarters": str(tally.quarters)}
            for semitones, tally in what.intervals.items()
        },
        "timeline": [str(onset) for onset in what.timeline],
        "is_lowest_open": what.is_lowest_open,
        "emphasis": [
            {
                "semitones": one.semitones,
                "count_share": number(one.count_share),
                "time_share": number(one.time_share),
                "metrical_share": number(one.metrical_share),
                "expected_share": number(one.expected_share),
            }
            for one in what.emphasis
        ],
    }


@what_as_json.register
def _motive(what: Motive) -> dict[str, Json]:
    return {
        "source": _motive_place(what.source),
        "return": _motive_place(what.return_),
        "transform": {
            "transposition": what.transform.transposition,
            "inversion": what.transform.inversion,
            "retrograde": what.transform.retrograde,
            "scale": str(what.transform.scale),
        },
        "inserted": list(what.inserted),
        "dropped": list(what.dropped),
        "changed": [list(pair) for pair in what.changed],
        "goes_on": [_motive_place(place) for place in what.goes_on],
        "is_free": what.is_free,
        "family": None if what.family is None else _family(what.family),
        "stage": what.stage,
        "scale_steps": what.scale_steps,
        "scale": list(what.scale),
    }


def _family(family: Family) -> dict[str, Json]:
    return {
        "number": family.number,
        "home": family.home,
        "stages": [
            {
                "place": _motive_place(stage.place),
                "parent": stage.parent,
                "has": list(stage.has),
                "adds": list(stage.adds),
                "loses": list(stage.loses),
            }
            for stage in family.stages
        ],
    }


def _motive_place(place: MotivePlace) -> dict[str, Json]:
    return {
        "passage": place.passage,
        "title": place.title,
        "span": span_as_json(place.span),
        "notes": list(place.notes),
    }


@what_as_json.register
def _pattern(what: Pattern) -> dict[str, Json]:
    return {
        "space": what.space,
        "vectors": [[str(part) for part in vector] for vector in what.vectors],
        "occurrences": [
            {
                "span": span_as_json(one.span),
                "shift_quarters": str(one.shift_quarters),
                "shift": list(one.shift),
                "notes": list(one.notes),
                "missing": list(one.missing),
            }
            for one in what.occurrences
        ],
    }


@what_as_json.register
def _hand(what: Hand) -> dict[str, Json]:
    return {
        "shapes": [
            {
                "places": [list(place) for place in shape.places],
                "spans": [span_as_json(span) for span in shape.spans],
                "moves": [list(move) for move in shape.moves],
            }
            for shape in what.shapes
        ],
        "path": [
            {
                "at": str(grip.at_quarters),
                "position": grip.position,
                "fingers": [list(pair) for pair in grip.fingers],
                "stretch_mm": number(grip.stretch_mm),
            }
            for grip in what.path
        ],
        "path_cost": number(what.path_cost),
        "written_cost": number(what.written_cost),
        "explains_share": number(what.explains_share),
        "explains": [
            {"what": one.what, "span": span_as_json(one.span), "explained": one.explained}
            for one in what.explains
        ],
        "wide_stretches": [str(at) for at in what.wide_stretches],
    }


@what_as_json.register
def _metre(what: MetreAnswer) -> dict[str, Json]:
    return {
        "grouping": [
            {
                "groups": list(one.groups),
                "bits": number(one.bits),
                "is_written": one.is_written,
            }
            for one in what.grouping
        ],
        "phase": [
            {"pass": row.pass_number, "bar": row.bar, "offset": str(row.offset_quarters)}
            for row in what.phase
        ],
        "meets_after": None if what.meets_after is None else list(what.meets_after),
        "density": [number(value) for value in what.density],
        "evenness": None if what.evenness is None else number(what.evenness),
        "off_beat_share": number(what.off_beat_share),
        "pulse": None if what.pulse_quarters is None else str(what.pulse_quarters),
        "cycle": list(what.cycle),
        "cycle_pulses": what.cycle_pulses,
        "tuplets": [
            {"parts": one.parts, "bars": list(one.bars), "attacks": one.attacks}
            for one in what.tuplets
        ],
    }


def _content(content: AttackContent | None) -> dict[str, Json] | None:
    if content is None:
        return None
    return {"pitches": list(content.pitches), "quarters": str(content.value_quarters)}
