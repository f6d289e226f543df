using Supervisor.Api.V1;

namespace Supervisor.Daemon.Verbs;

/// <summary>What looks different from one status to the next, a line each. Values that move all the time are told with the line but make none.</summary>
internal static class StatusChanges
{
    /// <param name="before">The status before; null: everything is new.</param>
    /// <param name="now">The status now.</param>
    public static IEnumerable<string> Lines(MachineStatus? before, MachineStatus now)
    {
        if (before is null || before.MotionPermitted != now.MotionPermitted || before.AuthorityHolder != now.AuthorityHolder || before.Mode != now.Mode)
        {
            yield return StatusText.Heading(now);
        }

        for (var i = 0; i < now.Axes.Count; i++)
        {
            if (before is null || Key(before.Axes[i]) != Key(now.Axes[i]))
            {
                yield return StatusText.Line(now.Axes[i], 0);
            }
        }

        for (var i = 0; i < now.Interlocks.Count; i++)
        {
            if (before is null || !before.Interlocks[i].Equals(now.Interlocks[i]))
            {
                yield return StatusText.Line(now.Interlocks[i]);
            }
        }

        for (var i = 0; i < now.Zones.Count; i++)
        {
            if (before is null || !before.Zones[i].Equals(now.Zones[i]))
            {
                yield return StatusText.Line(now.Zones[i]);
            }
        }

        foreach (var line in StatusText.Outputs(now).Except(before is null ? [] : StatusText.Outputs(before)))
        {
            yield return line;
        }

        for (var i = 0; i < now.Ports.Count; i++)
        {
            if (before is null || before.Ports[i].Open != now.Ports[i].Open)
            {
                yield return StatusText.Line(now.Ports[i]);
            }
        }

        // What is lost on the way grows with every record; it is told with the end.
        if ((before?.History?.Good ?? true) != (now.History?.Good ?? true) || (before?.History?.Sparing ?? false) != (now.History?.Sparing ?? false))
        {
            yield return StatusText.Line(now.History) ?? "history: records are kept again";
        }
    }

    private static (AxisState State, bool Referenced, string Remark) Key(AxisStatus axis) => (axis.State, axis.Referenced, Text.Remark(axis));
}
