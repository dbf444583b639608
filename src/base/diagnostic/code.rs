//! The stable codes of diagnostics, each with the sentence that explains it.

macro_rules! codes {
    ($($variant:ident $text:literal $meaning:literal,)*) => {
        /// The stable code of a kind of diagnostic.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
        pub enum Code {
            $(#[doc = $meaning] $variant,)*
        }

        impl Code {
            /// All codes, in the order of the pipeline.
            pub const ALL: &[Code] = &[$(Code::$variant,)*];

            /// Returns the code as it is printed.
            pub const fn text(self) -> &'static str {
                match self { $(Code::$variant => $text,)* }
            }

            /// Returns what the code means, one sentence.
            pub const fn meaning(self) -> &'static str {
                match self { $(Code::$variant => $meaning,)* }
            }
        }
    };
}

codes! {
    // The folder and the file as such.
    FolderMissing "folder-missing" "The session folder or one of its parts is not there.",
    FileMissing "file-missing" "The file is not there or cannot be read.",
    FileTooLarge "file-too-large" "The file is larger than a session or movement can be.",
    NotUtf8 "not-utf8" "The file is not UTF-8 text.",
    FileEmpty "file-empty" "The file has nothing in it.",
    IdInvalid "id-invalid" "A file name or a reference is not a plain id.",
    IdTwice "id-twice" "Two files differ only by upper and lower case.",
    // TOML and its values.
    Syntax "toml-syntax" "The file is not valid TOML.",
    KeyUnknown "key-unknown" "The key means nothing at this place.",
    KeyMissing "key-missing" "A required key is not there.",
    TypeWrong "type-wrong" "The value has another type than the key takes.",
    ValueUnknown "value-unknown" "The word is not one that the key takes.",
    NumberOutside "number-outside" "The number is outside its limits.",
    DurationInvalid "duration-invalid" "The text is not a duration.",
    DurationOutside "duration-outside" "The duration is outside its limits.",
    TempoInvalid "tempo-invalid" "The text is not a tempo.",
    TextEmpty "text-empty" "A text that is spoken has no words.",
    TextTooLong "text-too-long" "A text is longer than anything that could be spoken.",
    TextControl "text-control" "A text that is spoken holds a control character.",
    PlaceholderUnknown "placeholder-unknown" "The braces hold something other than side or other.",
    PlaceholderNoSide "placeholder-no-side" "A text speaks of a side where there is none.",
    ListEmpty "list-empty" "The list must have at least one entry.",
    ListTooLong "list-too-long" "The list has more entries than a session can have.",
    LengthTwice "length-twice" "The length of a work is given in two ways.",
    RestTwice "rest-twice" "The rest is given in two ways.",
    ListLength "list-length" "The list must have one entry a round.",
    LevelInvalid "level-invalid" "The text is not a level against speech.",
    LevelOutside "level-outside" "The level is outside its limits.",
    MusicMissing "music-missing" "The folder of music is not there, or nothing in it can be music.",
    DateInvalid "date-invalid" "The text is not a date, or not a date with a time of day.",
    WhenInvalid "when-invalid" "What a session says of its dates does not go together.",
    ZoneUnknown "zone-unknown" "No time zone has this name.",
    VoiceMissing "voice-missing" "No voice for the language of the session is here.",
    // Lexicons, and how voices say words.
    LexiconSyntax "lexicon-syntax" "The file is not a lexicon as W3C PLS 1.0 has them.",
    LexiconEntry "lexicon-entry" "An entry of a lexicon lacks its word or how it is said.",
    PronunciationInvalid "pronunciation-invalid" "The text does not say how a word is said.",
    // The configuration.
    ConfigMisplaced "config-misplaced" "The configuration lies where nothing reads it.",
    VerbUnknown "verb-unknown" "The text is nothing that the program can be told.",
    ButtonUnknown "button-unknown" "No key or button has this name or code.",
    // Sense.
    MovementUnknown "movement-unknown" "No movement of the folder has this id.",
    CueTwice "cue-twice" "The same cue stands twice in a movement.",
    SayIncomplete "say-incomplete" "A cue says something for one side only.",
    SideWithoutSides "side-without-sides" "A side is chosen for a movement that has none.",
    SideTwice "side-twice" "One side alone is chosen, and also which one begins.",
    HoldWithoutItem "hold-without-item" "A hold is given, but nothing to hold.",
    TranslationUnmatched "translation-unmatched" "A translation has a text that its movement has none of.",
    TempoMissing "tempo-missing" "`begins` or `reps` needs a tempo.",
    TempoTooQuick "tempo-too-quick" "A repetition is too quick to be counted aloud.",
    EveryWithoutRest "every-without-rest" "`every` leaves no rest after the work.",
    OpenWithoutRest "open-without-rest" "A work that goes on until a key needs a rest after it.",
    HalvesInvalid "halves-invalid" "A work cannot be divided into two halves.",
    StationsInvalid "stations-invalid" "Works on stations cannot be laid out as written.",
    SessionTooLong "session-too-long" "The session is longer than a day or has too many works.",
    LanguageUnknown "language-unknown" "The program does not speak this language.",
    VoiceUnknown "voice-unknown" "No voice has this name.",
    VoiceTaken "voice-taken" "Another voice has this name already.",
    LoadWithoutItem "load-without-item" "A load is given to a movement that has nothing in the hands.",
    // The plan.
    MustTooLong "must-too-long" "What has to be said does not fit the time there is.",
    MustMayNotFit "must-may-not-fit" "By estimate, what has to be said does not fit the time there is.",
    NotProven "not-proven" "The best choice was not proven within the limit of the search.",
    RestLengthened "rest-lengthened" "A rest was lengthened so that everything can be heard.",
    // Advice on texts.
    Untranslated "untranslated" "A movement has no words in the language of a session.",
    PointingWord "pointing-word" "A text points at something that is seen, not said.",
    LooksOnly "looks-only" "A thing is told from others by its looks alone.",
    SideMissing "side-missing" "The texts of a one-sided movement speak of no side.",
    PlaceVague "place-vague" "A thing or a place has nothing that tells by touch where it is.",
    StartMissing "start-missing" "The start position names neither a part of the body nor a posture.",
    ManyActions "many-actions" "A cue heard in the work asks for more than one thing.",
    ManyWords "many-words" "A cue heard in the work is longer than ten words.",
    NegativeBare "negative-bare" "A text says what not to do, and not what to do.",
    NameLong "name-long" "The name of a movement is longer than a rest has time for.",
    NameTwice "name-twice" "Two movements of a session have the same name.",
    NameVaries "name-varies" "A movement's texts call it by another name.",
    ItemVaries "item-varies" "One piece of equipment has several names.",
    NamesAlike "names-alike" "Two movements of a session have names that sound alike.",
    Abbreviation "abbreviation" "A text holds an abbreviation that is not written out.",
    SpaceUnchecked "space-unchecked" "Jumps or overhead work come without a check of the space.",
    ThroughPain "through-pain" "A text asks the listener to work through pain.",
    BreathHeld "breath-held" "A text asks the listener to hold the breath.",
    LoadHurried "load-hurried" "A text asks the listener to hurry a load.",
    BodyShaming "body-shaming" "A text speaks of bodies in a way that shames.",
    BreathReversed "breath-reversed" "The breath goes out on the return, or in on the effort.",
    SafetyMissing "safety-missing" "A movement has no safety cue.",
    // Advice on sessions.
    NoWarmUp "no-warm-up" "A session with a main part begins without a warm-up.",
    NoCoolDown "no-cool-down" "A session with a main part ends without a cool-down.",
    SidesUneven "sides-uneven" "One side of a movement does more than the other.",
    PatternRun "pattern-run" "The same pattern comes more than three times running.",
    JumpsLate "jumps-late" "Jumps come in the last third of the main part.",
    ChangeTooQuick "change-too-quick" "A change of equipment, hold or posture has too little time.",
    StaticHolds "static-holds" "There are static holds and no caution on blood pressure.",
    RatioOutside "ratio-outside" "Work to rest is outside what published protocols have.",
    CueTooLong "cue-too-long" "A cue or start position is too long for any time in which it could be said.",
    CuesNeverSaid "cues-never-said" "There are more cues than the session can say.",
    ReadyUnused "ready-unused" "A thing to have ready is used by no movement.",
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_two_codes_share_a_text() {
        let mut texts: Vec<_> = Code::ALL.iter().map(|c| c.text()).collect();
        texts.sort_unstable();
        texts.dedup();
        assert_eq!(texts.len(), Code::ALL.len());
    }
}
