//! The ten lines by which a person's pace is learnt in a minute.

/// Plain coaching lines of our own: short and long, with and without commas and stops inside, so that each part
/// of a pace can be told from them. A person reads them; the program does not speak them.
pub const TEN: [&str; 10] = [
    "Press-up.",
    "Right hand takes the dumbbell.",
    "Hips back, shoulders square to the floor.",
    "Breathe in as you sit, out as you stand.",
    "Stand with your back to the bench, calves just clear of it, feet under your hips.",
    "Put the dumbbell down. Walk a little. Let your breath settle.",
    "One long line from head to heels.",
    "Easier: push off the bench with both hands.",
    "Elbow to your hip, like the finish of a stroke.",
    "Last round. Work at seven out of ten, and finish as steadily as you began.",
];
