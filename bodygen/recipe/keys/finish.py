"""``[finish]`` and ``[[paint]]``: when and in what air the coats go on, and the colours that are seen."""

from bodygen.recipe.keys.key import Key, choice, text

FINISH = {
    "start": Key(
        "other",
        "",
        "the day of the first coat, as year-month-day; the calendar of all coats begins there",
        "2031-03-04",
        form="date",
        left_out="no calendar",
    ),
    "temperature": Key("temperature", "bench_temperature_c", "of bench and bait", "18 degC"),
    "humidity": Key("percent", "bench_humidity_percent", "of the air at the bench, relative", "55 %"),
    "days": Key(
        "names",
        about="weekdays on which you are at the bench, in English; their first three letters will do",
        example=["Tue", "Thu"],
        left_out="every day",
    ),
    "opens": Key(
        "other", "", "when you come to the bench, hour:minute", "18:30", form="clock", left_out="{finishes.bench.opens}"
    ),
    "lip_glue": choice(
        "which glue sets the lip into its slot, for how long it takes",
        *("two_part_epoxy_slow", "two_part_epoxy_fast"),
        left_out="{finishes.bench.glue}",
        example=1,
    ),
    "hours": Key("number", "bench_hours", "how long you stay", 3, left_out="{finishes.bench.hours}"),
}

PAINT = {
    "colour": Key(
        "other",
        "",
        "of the layer, as pictures show it; paint of that name is another matter",
        "olivedrab",
        required=True,
        form="colour",
    ),
    "name": text("a name of its own", "back, dark", left_out="its colour"),
    "region": choice(
        "where it goes: all over, or a third of the flank as masks of these kinds have it",
        *("whole", "back", "flank", "belly"),
        left_out='"whole", or the mask',
        example=1,
    ),
    "mask": text(
        "in place of region: the name of the [[mask]] that it goes through", "perch bars", left_out="the region"
    ),
}
