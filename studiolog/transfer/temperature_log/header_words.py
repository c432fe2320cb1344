"""The words by which loggers name their columns, in the languages potters meet them in."""

import re
import unicodedata

# Each set is matched against whole words of a header, accents taken off; words of three letters
# or more from the stems also match inside longer words (Isttemperatur, Sollwert).
_WORDS = {
    "time": """
        time timestamp ts stamp datetime zeit uhrzeit zeitpunkt zeitstempel temps heure hora
        tiempo tempo ora orario tijd tijdstip elapsed verstrichen dauer duration duree duracion
        durata duur runtime laufzeit minutes minuten minuti minutos minute min mins seconds
        sekunden secondes segundos secondi seconden second sec secs sek hours hour stunden
        heures horas ore uren uur hrs hr epoch unix unixtime clock t tid tidspunkt czas cas
        klokke hhmm hhmmss ms millis milliseconds s h godzina uptime ecoule ecoulee transcurrido
        transcorso decorrido klokkeslett kl
    """,
    "date": """
        date datum fecha data dato day tag jour dia giorno dag
    """,
    "channel": """
        channel sensor probe tag kanal canal canale kanaal messstelle fuhler sonde sonda point
        name variable series thermocouple location zone position level signal parameter id ch
    """,
    "setpoint": """
        sp set setpoint setpt soll sollwert solltemperatur target consigne consigna objetivo
        obiettivo ziel zielwert vorgabe ingesteld instelwaarde gewenst doel doelwaarde impostata
        impostato riferimento wsp tsp csp program programme programm command reference borwert
        teorica teorico theorique bor borvarde streef streefwaarde referencia programmed
        programada programado programmata programmato programmee programmiert profile profil
        aim aims aimed desired wanted wish goal demand planned expected wunsch gewunscht
        eingestellt geplant cible objectif voulue desiree souhaitee prescrite deseada deseado
        desejada desejado prevista previsto zadana zadane onsket ønsket ønskelig schedule
    """,
    "duty": """
        duty out output op mv power leistung heizleistung stellgrad stellwert ausgang puissance
        potencia potenza vermogen sortie salida uscita uitgang ssr relay relais heater heat
        heizung load last kw watt watts percent percentage prozent pct
    """,
    "value": """
        pv ist istwert isttemperatur actual measured process temp temps temperature temperatur
        temperatura temperatuur reading value wert messwert valeur valor valore waarde kiln oven
        ofen four horno forno tc thermoelement mesure mesuree medida medido misura misurata
        reale real reel gemeten werkelijk ofentemperatur kilntemp tc1 tc2 tc3 tc4 ch1 ch2 ch3
        ch4 top middle bottom centre center mitte oben unten haut bas milieu arriba abajo medio
        centro alto basso boven onder midden chamber kammer degc degf celsius fahrenheit kelvin
        gemessen aktuell aktuelle actuelle attuale atual faktisk malt målt arvarde zmierzona
        pomiar forno
    """,
    "ignored": """
        remark remarks bemerkung bemerkungen kommentar note notes notiz comment comments
        commentaire comentario commento opmerking nota segment seg step schritt error alarm etape
        paso passo fase stufe abschnitt
        status state zustand etat estado stato index no nr num row record line zeile kwh energy
        energie energia volt volts voltage spannung amps ampere current strom tension humidity
        feuchte event ereignis mode id count counter battery flag flags
    """,
    "other": """
        ambient cj cjc coldjunction junction board umgebung room raum ambiente ambiance rate
        rampe ramp gradient deviation abweichung diff delta error internal
    """,
}
_STEMS = {
    "setpoint": (
        "sollwert",
        "solltemp",
        "setpoint",
        "set point",
        "setp",
        "consign",
        "sollt",
        "target",
    ),
    "duty": ("leistung", "stellgr", "puissance", "output", "power"),
    "other": ("cold junction", "vergleichsstelle", "umgebung", "ambient", "abweichung"),
    "value": ("temperat", "istwert", "istt", "temp", "thermo", "measured", "messwert", "pyromet"),
    "ignored": ("bemerk", "remark", "comment", "komment"),
    "time": ("zeitst", "timest", "uhrzeit", "elapsed", "zeit", "horodat"),
}
_GLYPHS = {
    "setpoint": ("設定", "目標", "设定", "目标", "задан", "уставка"),
    "duty": ("出力", "電力", "功率", "输出", "мощн"),
    "value": ("温度", "実測", "測定", "現在", "测量", "темп", "炉"),
    "date": ("日付", "年月日", "日期", "дата"),
    "time": ("時刻", "時間", "日時", "経過", "时间", "время", "秒", "分", "시간"),
    "ignored": ("備考", "メモ", "备注"),
    "channel": ("チャンネル", "通道"),
}
_TIME_UNIT_WORDS = {
    "ms": "ms millis milliseconds msec millisekunden millisecondes",
    "s": """
        s sec secs second seconds sek sekunde sekunden seconde secondes segundo segundos secondi
        seconden
    """,
    "min": "min mins minute minutes minuten minuti minutos minuto mn",
    "h": "h hr hrs hour hours std stunde stunden heure heures hora horas ore uur uren",
    "days": "d day days tage jours dias giorni dagen",
}
_PRIMARY = (
    (
        "middle",
        "mid",
        "centre",
        "center",
        "mitte",
        "milieu",
        "medio",
        "centro",
        "midden",
        "中央",
        "中",
    ),
    ("pv", "ist", "istwert", "actual", "measured", "control", "kiln", "ofen", "four", "horno"),
    ("tc1", "ch1", "1"),
)
_UNIT_WORDS = {
    "C": ("degc", "deg c", "celsius", "centigrade", "℃"),
    "F": ("degf", "deg f", "fahrenheit", "℉"),
    "K": ("kelvin", "degk"),
}
_UNIT_SIGN = re.compile(
    r"[°º�]\s*([CFK])\b|[(\[{/,;]\s*(?:deg\.?\s*)?([CFK])\s*[)\]}]?\s*$|[\s_.](?:deg_?)?([cfkCFK])\s*$"
    r"|(?<=[a-z])([CFK])$"
)


def bare_words(header: str) -> list[str]:
    """The words of a header: small letters, accents off, units in brackets left out."""
    text = unicodedata.normalize("NFKD", header.replace("\xb0", " ").replace("º", " "))
    text = "".join(sign for sign in text if not unicodedata.combining(sign)).replace("ß", "ss")
    text = re.sub(r"(?<=[a-z])(?=[A-Z])", " ", text)
    return [word for word in re.split(r"[\W_]+", text.casefold()) if word]


def name_kind(header: str) -> str | None:
    """time, date, channel, setpoint, duty, value, other or ignored; None when no word is known."""
    low = header.casefold()
    words = bare_words(re.sub(r"[(\[].*?[)\]]", " ", header)) or bare_words(header)
    joined = " ".join(words)
    tight = "".join(words)
    counted = {"no", "nr", "number", "num", "id", "index", "step", "segment", "seg", "schritt"}
    if counted & set(words) and _PROGRAMS & set(words):
        return "ignored"  # which program ran, not where it wanted to be
    for kind in ("setpoint", "duty", "other"):
        if (
            any(word in _SETS[kind] for word in words)
            or any(stem in joined for stem in _STEMS.get(kind, ()))
            or any(glyph in low for glyph in _GLYPHS.get(kind, ()))
            or tight in _SETS[kind]
        ):
            return kind
    if "%" in header:
        return "duty"
    # "Date/Time" holds both; "Temps" is time in French and temperatures in English.
    kinds = [
        kind
        for kind in ("time", "date", "ignored", "value", "channel")
        if any(word in _SETS[kind] for word in words)
        or tight in _SETS[kind]
        or any(stem in joined for stem in _STEMS.get(kind, ()))
        or any(glyph in low for glyph in _GLYPHS.get(kind, ()))
    ]
    if "value" in kinds and "time" in kinds and not _tells_time_only(words):
        return "value" if any(word.startswith("temp") or word == "pv" for word in words) else "time"
    return kinds[0] if kinds else None


def _tells_time_only(words: list[str]) -> bool:
    """Whether "temps" or "tempo" stands for time: nothing else there speaks of a temperature."""
    rest = [word for word in words if word not in ("temps", "tempo")]
    return len(rest) < len(words) and not any(
        word in _SETS["value"] or any(stem in word for stem in _STEMS["value"]) for word in rest
    )


def zone_in(text: str) -> float | None:
    """The offset in seconds of a zone that a header names: "Time (UTC)", "GMT+2"; None if none."""
    found = _ZONE.search(text)
    if found is None:
        return None
    if not found["hours"]:
        return 0.0
    hours, minutes = int(found["hours"]), int(found["minutes"] or 0)
    if hours > 14 or minutes > 59:
        return None
    return (-1.0 if found["sign"] in "-−" else 1.0) * (hours * 3600.0 + minutes * 60.0)


def unit_in(text: str) -> str | None:
    """C, F or K if a header, a cell or a line of the preamble names it."""
    low = text.casefold()
    for unit, words in _UNIT_WORDS.items():
        if any(word in low for word in words):
            return unit
    found = _UNIT_SIGN.search(text)
    if found is None:
        return text.strip() if text.strip() in ("C", "F", "K") else None
    return next(part for part in found.groups() if part).upper()


def time_unit_in(header: str) -> str | None:
    """ms, s, min, h or days if a header names the unit of elapsed time; clock for hh:mm."""
    low = header.casefold()
    if "hh:mm" in low or "h:mm" in low:
        return "clock"
    if "mm:ss" in low:
        return "m:ss"
    words = set(bare_words(header))
    for unit, names in _TIME_UNITS:
        if words & names:
            return unit
    if "秒" in header:
        return "s"
    return "min" if "分" in header else None


def primary_rank(name: str) -> int:
    """How likely a channel's name is the one to judge a firing by; lower is likelier."""
    words = set(bare_words(name))
    for rank, names in enumerate(_PRIMARY):
        if words & set(names):
            return rank
    return len(_PRIMARY)


_PROGRAMS = frozenset(["program", "programme", "programm", "profile", "profil", "schedule"])
_ZONE = re.compile(
    r"(?<![A-Za-z])(?:UTC|GMT|Zulu)(?![A-Za-z])"
    r"(?:\s?(?P<sign>[+\-−])\s?(?P<hours>\d{1,2})(?::?(?P<minutes>\d{2}))?)?",
    re.IGNORECASE,
)
_SETS = {kind: frozenset(words.split()) for kind, words in _WORDS.items()}
_TIME_UNITS = tuple((unit, frozenset(words.split())) for unit, words in _TIME_UNIT_WORDS.items())
