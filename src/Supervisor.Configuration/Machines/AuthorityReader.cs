using Supervisor.Configuration.Reading;

namespace Supervisor.Configuration.Machines;

/// <summary>Reads what becomes of authority whose holder is lost. Left out: held by its stream alone, and a lost holder's axes stop.</summary>
internal static class AuthorityReader
{
    // The watch looks four times a second; a shorter time would lapse between two looks.
    private const double ShortestMs = 1_000;
    private const double LongestMs = 600_000;

    private static readonly Choices<LapseAction> Actions = new(("stop", LapseAction.Stop), ("finish", LapseAction.Finish));

    public static AuthorityDefinition Read(ObjectReader machine)
    {
        if (machine.Object("authority", MachineShapes.Authority) is not { } authority)
        {
            return AuthorityDefinition.Default;
        }

        var within = authority.Find("refreshWithinMs") is null
            ? (TimeSpan?)null
            : Milliseconds.ToTime(authority.Number("refreshWithinMs", new NumberRange(ShortestMs, LongestMs, Milliseconds.Unit), ShortestMs));
        return new AuthorityDefinition(within, authority.Choice("onLapse", Actions, LapseAction.Stop) ?? LapseAction.Stop);
    }
}
