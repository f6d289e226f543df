using Supervisor.Configuration.Reading;

namespace Supervisor.Configuration.Signals;

/// <summary>The machine file's words for states and colours.</summary>
internal static class SignalWords
{
    public static readonly Choices<SignalColour> Colours = new(
        ("red", SignalColour.Red), ("yellow", SignalColour.Yellow), ("blue", SignalColour.Blue), ("green", SignalColour.Green), ("white", SignalColour.White));

    public static readonly Choices<SignalStates> States = new(
        ("emergencyStop", SignalStates.EmergencyStop),
        ("interlockOpen", SignalStates.InterlockOpen),
        ("axisFaulted", SignalStates.AxisFaulted),
        ("highAlarm", SignalStates.HighAlarm),
        ("mediumAlarm", SignalStates.MediumAlarm),
        ("lowAlarm", SignalStates.LowAlarm),
        ("newHighAlarm", SignalStates.NewHighAlarm),
        ("newMediumAlarm", SignalStates.NewMediumAlarm),
        ("newLowAlarm", SignalStates.NewLowAlarm),
        ("personNeeded", SignalStates.PersonNeeded),
        ("ready", SignalStates.Ready),
        ("moving", SignalStates.Moving),
        ("production", SignalStates.Production),
        ("maintenance", SignalStates.Maintenance),
        ("manual", SignalStates.Manual),
        ("always", SignalStates.Always));

    /// <summary>Words of the states that are among these.</summary>
    public static IEnumerable<string> Of(SignalStates states) => States.Words.Where(word => (states & States.Find(word)!.Value) != SignalStates.None);
}
