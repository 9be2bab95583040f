"""Languages a family may speak, by their ISO 639-1 codes; names in English, since that is what staff read."""

from __future__ import annotations

LANGUAGES = {
    "am": "Amharic", "ar": "Arabic", "bg": "Bulgarian", "bn": "Bengali", "bs": "Bosnian", "ca": "Catalan",
    "cs": "Czech", "cy": "Welsh", "da": "Danish", "de": "German", "el": "Greek", "en": "English", "es": "Spanish",
    "et": "Estonian", "eu": "Basque", "fa": "Persian", "fi": "Finnish", "fr": "French", "ga": "Irish",
    "gd": "Scottish Gaelic", "gu": "Gujarati", "ha": "Hausa", "he": "Hebrew", "hi": "Hindi", "hr": "Croatian",
    "hu": "Hungarian", "id": "Indonesian", "ig": "Igbo", "is": "Icelandic", "it": "Italian", "ja": "Japanese",
    "ka": "Georgian", "ko": "Korean", "ku": "Kurdish", "lt": "Lithuanian", "lv": "Latvian", "ms": "Malay",
    "mt": "Maltese", "ne": "Nepali", "nl": "Dutch", "no": "Norwegian", "pa": "Punjabi", "pl": "Polish",
    "ps": "Pashto", "pt": "Portuguese", "ro": "Romanian", "ru": "Russian", "sk": "Slovak", "sl": "Slovenian",
    "so": "Somali", "sq": "Albanian", "sr": "Serbian", "sv": "Swedish", "sw": "Swahili", "ta": "Tamil", "te": "Telugu",
    "th": "Thai", "ti": "Tigrinya", "tl": "Tagalog", "tr": "Turkish", "uk": "Ukrainian", "ur": "Urdu",
    "vi": "Vietnamese", "yo": "Yoruba", "zh": "Chinese", "zu": "Zulu",
}  # fmt: skip


def checked_language(code: str) -> str:
    """The code itself; raises ValueError, saying what to write, for one that is not in the table."""
    if code not in LANGUAGES:
        raise ValueError('Write the two-letter code of a language, such as "en" or "ar"')
    return code
