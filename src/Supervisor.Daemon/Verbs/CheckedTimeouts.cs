using System.Globalization;
using Supervisor.Configuration.Machines;
using Supervisor.Daemon.Hosting;
using Supervisor.Daemon.Memories;
using Supervisor.Machine.Timeouts;

namespace Supervisor.Daemon.Verbs;

/// <summary>What each drive does by its communication time-out, and whether that was ever shown on this machine.</summary>
internal static class CheckedTimeouts
{
    public static void Print(MachineDefinition machine, string? stateFolder, TextWriter to)
    {
        foreach (var timeout in ToJson(machine, stateFolder))
        {
            to.WriteLine(timeout.Reaction is null
                ? $"  time-out of {timeout.Axis}: {timeout.Text}"
                : $"  time-out of {timeout.Axis}: {Text.Of(timeout.TimeoutMs!.Value)} ms, {timeout.Reaction}, {timeout.Text}");
        }
    }

    public static IReadOnlyList<CheckedTimeoutJson> ToJson(MachineDefinition machine, string? stateFolder)
    {
        string? problem = null;
        var kept = stateFolder is null ? null : new TimeoutProofFile(machine, stateFolder).Read(out problem);
        if (problem is not null)
        {
            Terminal.Error(problem);
        }

        return [.. machine.Axes.Select((axis, index) => Of(axis, kept?[index] ?? new KeptTimeoutProofs(null, null)))];
    }

    private static CheckedTimeoutJson Of(AxisDefinition axis, KeptTimeoutProofs kept)
    {
        var standing = TimeoutStandings.Of(axis, kept, serialNumber: null);
        var declared = axis.Drive.CommunicationTimeout;
        return new CheckedTimeoutJson(
            axis.Name, declared is null ? null : axis.CommunicationTimeout.TotalMilliseconds, declared is null ? null : TimeoutTexts.Word(declared.Reaction),
            standing.ToString().ToLowerInvariant(), kept.Passed?.Utc.ToString("O", CultureInfo.InvariantCulture), TimeoutStandings.Text(axis, kept, standing));
    }
}
