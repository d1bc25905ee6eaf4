"""Lines in five languages for the reading test. Written for Wallbill; about the invented harbour of its demo."""

LINES = (
    # English
    "Ferries leave the quay at 07:05, 08:35 and 10:05.",
    "Low water 1.4 m at 13:42; wind SW 5, gusts 46 km/h.",
    "Please lock boathouse 3 after use. Key 10 B, shelf 118.",
    # German
    "Heute früh Nebel, später heiter: Höchstwerte 9 bis 13 °C.",
    "Übung am Dienstag um 19:30 Uhr, große Halle, Tür 2.",
    "Öl für die Maschine prüfen; Schlüssel zurücklegen!",
    # French
    "Demain, pluie faible à modérée dès 18 h, éclaircies après.",
    "La réunion du comité a été déplacée : jeudi à 20 h 15.",
    "Température à l’intérieur : 18,5 °C, humidité 62 %.",
    # Polish
    "Jutro pochmurno, po południu słońce, wiatr północny.",
    "Zbiórka żeglarzy o 9:45; proszę zabrać ciepłą kurtkę.",
    "Poziom wody: 234 cm, ciśnienie 1013,4 hPa, mgła.",
    # Danish
    "Færgen sejler ikke søndag; næste afgang mandag 06:50.",
    "Blæst fra øst, 12 m/s, og lidt sne på åbne strækninger.",
    "Husk årets møde lørdag kl. 14:00 i den gamle bådhal.",
)
"""Fifteen lines: accents, figures, times, units, and letters that are easily taken for one another."""

SIZES_PX = (9, 10, 11, 12, 14, 16, 20)
