using Supervisor.Records.Commands;
using Supervisor.Records.Faults;
using Supervisor.Runtime.Messaging;

namespace Supervisor.Machine.Commands;

/// <summary>How far one axis is with its part of a command.</summary>
internal enum PartStage : byte
{
    Waiting = 0,
    Sent = 1,
    Taken = 2,
    Ended = 3,
}

/// <summary>One axis's part of a command.</summary>
/// <param name="command">What the axis gets.</param>
/// <param name="step">Parts of a lower step end before those of a higher one begin.</param>
internal sealed class CommandPart(AxisCommand command, int step)
{
    /// <summary>What the axis gets; the zones may still put an end to a jog or excuse a motion before it is given.</summary>
    public AxisCommand Command { get; set; } = command;

    public int Axis => Command.Axis;

    public int Step { get; } = step;

    public PartStage Stage { get; set; }

    /// <summary>Not null: the axis is not given the command, as it is on its way there; only waited for, until then.</summary>
    public TimeSpan? WatchUntil { get; set; }

    /// <summary>True once the coordinator has asked the axis to stop because another part has a cause.</summary>
    public bool IsBeingStopped { get; set; }

    /// <summary>True while the axis has it.</summary>
    public bool IsInHand => Stage is PartStage.Sent or PartStage.Taken;
}

/// <summary>Why a command ends otherwise than done: the first cause counts.</summary>
internal sealed record CommandCause(Outcome Outcome, Refusal Refusal, FaultCode Fault, int Axis, string Message);

/// <summary>A command that was split into its axes' parts and given to them.</summary>
internal sealed class RunningCommand(PendingCommand pending, CommandPart[] parts)
{
    public PendingCommand Pending { get; } = pending;

    public ulong Id => Pending.Id;

    public CommandPart[] Parts { get; } = parts;

    /// <summary>The step that is under way.</summary>
    public int Step { get; set; }

    public CommandCause? Cause { get; set; }

    /// <summary>What the axis measured; see <see cref="Api.CommandAnswer.Value"/>.</summary>
    public double? Value { get; set; }

    /// <summary>What it found, for a person; null: only that it is done.</summary>
    public string? Result { get; private set; }

    /// <summary>True once an axis has begun: what happens later is no refusal any more.</summary>
    public bool HasBegun { get; set; }

    /// <summary>Adds what one axis found.</summary>
    public void AddResult(string found) => Result = Result is null ? found : $"{Result}; {found}";

    public CommandPart? PartOf(int axis)
    {
        foreach (var part in Parts)
        {
            if (part.Axis == axis)
            {
                return part;
            }
        }

        return null;
    }

    /// <summary>True when every part of the step under way is at least at <paramref name="stage"/>.</summary>
    public bool IsStepAt(PartStage stage)
    {
        foreach (var part in Parts)
        {
            if (part.Step == Step && part.Stage < stage)
            {
                return false;
            }
        }

        return true;
    }

    /// <summary>True while an axis has a part of it.</summary>
    public bool IsInHand()
    {
        foreach (var part in Parts)
        {
            if (part.IsInHand)
            {
                return true;
            }
        }

        return false;
    }
}
