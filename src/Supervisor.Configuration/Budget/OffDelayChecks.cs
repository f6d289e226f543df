using Supervisor.Configuration.Drives;
using Supervisor.Configuration.Machines;
using Supervisor.Configuration.Reading;

namespace Supervisor.Configuration.Budget;

/// <summary>
/// A controlled stop must be over before the safety relay takes the drives' power (category 1 of IEC 60204-1, 9.2.2): seeing the input, the way of
/// the stop over the line, the ramp from top speed, and the brake's closing. With the supervisor lost the drive must at least have begun it.
/// </summary>
/// <remarks>A stop of category 0 has no ramp: the relay takes what is being taken. Computed, not measured: a validated measurement of the whole chain decides.</remarks>
internal sealed class OffDelayChecks(
    FileErrors errors, IReadOnlyList<PortDraft> ports, IReadOnlyList<AxisDraft> axes, IReadOnlyList<ModuleDraft> modules,
    IReadOnlyList<InterlockDefinition> interlocks, IReadOnlyList<Node> nodes)
{
    /// <summary>Checks one axis against the relay of every interlock that stops it.</summary>
    public void Check(Node axisNode, AxisBudget budget)
    {
        for (var i = 0; i < interlocks.Count; i++)
        {
            if (interlocks[i] is { OffDelay: { } delay, StopCategory: not 0 } interlock && interlock.Axes.Contains(budget.Axis))
            {
                CheckStop(nodes[i], interlock, delay, budget);
                CheckTimeout(axisNode, interlock, delay, axes[budget.Axis].Definition!);
            }
        }
    }

    private void CheckStop(Node node, InterlockDefinition interlock, TimeSpan delay, AxisBudget budget)
    {
        var axis = axes[budget.Axis].Definition!;
        var seen = Reading(interlock);
        var ramp = axis.Limits.StoppingTime(axis.Limits.Velocity);
        var brake = axis.Brake?.Close ?? TimeSpan.Zero;
        var stop = seen + budget.ToStopFrame + ramp + brake;
        if (stop > delay)
        {
            errors.Add(
                node.Find("offDelayMs") ?? node,
                $"{Ms(delay)} ms is shorter than the stop of {Show.Quoted(axis.Name)}, {Ms(stop)} ms: {Ms(seen)} ms until the input is read, {Ms(budget.ToStopFrame)} ms to the stop frame, {Ms(ramp)} ms ramp, {Ms(brake)} ms brake; "
                + "give the relay a longer delay if the risk assessment allows it, or the axis a steeper deceleration or a lower velocity");
        }
    }

    private void CheckTimeout(Node node, InterlockDefinition interlock, TimeSpan delay, AxisDefinition axis)
    {
        var hasTimeout = axis.Drive.CommunicationTimeout is not null || axis.Drive.Parameter(FieldNames.CommunicationTimeout) is not null;
        if (hasTimeout && axis.CommunicationTimeout >= delay)
        {
            errors.Add(
                node.Find("communicationTimeoutMs") ?? node,
                $"{Ms(axis.CommunicationTimeout)} ms is not shorter than offDelayMs {Ms(delay)} of {Show.Quoted(interlock.Name)}: with the supervisor lost, "
                + "the relay would take the power before the drive began to stop; give a shorter time-out, or the relay a longer delay if the risk assessment allows it");
        }
    }

    /// <summary>From one reading to the next of the input that is read most seldom; nothing where all wake the supervisor by themselves.</summary>
    private TimeSpan Reading(InterlockDefinition interlock)
    {
        var longest = TimeSpan.Zero;
        foreach (var input in interlock.Inputs)
        {
            var each = input.Axis >= 0 ? ports[axes[input.Axis].Definition!.Port].Definition.Cycle
                : input.Module is { } bit ? modules[bit.Module].Definition!.Poll
                : TimeSpan.Zero;
            longest = each > longest ? each : longest;
        }

        return longest;
    }

    private static string Ms(TimeSpan time) => Show.Number(Math.Round(time.TotalMilliseconds, 1));
}
