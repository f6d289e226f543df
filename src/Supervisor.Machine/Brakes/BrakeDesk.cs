using Supervisor.Configuration.Machines;
using Supervisor.Machine.Planning;
using Supervisor.Machine.Watching;
using Supervisor.Records.Commands;
using Supervisor.Records.Faults;
using Supervisor.Runtime.Contact;

namespace Supervisor.Machine.Brakes;

/// <summary>Keeps when each brake was last proven, warns when that is too long ago, and says what an unproven brake forbids.</summary>
/// <remarks>
/// Not the safe brake test (SBT) of IEC 61800-5-2: it finds a worn brake early, and replaces no measure that keeps people from under a load.
/// A time that nobody knows counts as overdue.
/// </remarks>
internal sealed class BrakeDesk(MachineView view, IJournal journal)
{
    private readonly BrakeProofNote[] _notes = [.. view.Board.HeldLoads.Select(held => new BrakeProofNote { LoadHeld = held })];
    private readonly int[] _memories = new int[view.Axes.Length];
    private readonly bool[] _warned = new bool[view.Axes.Length];

    /// <summary>The brake held.</summary>
    /// <param name="axis">Index of the axis.</param>
    /// <param name="movement">How far the axis moved, unit.</param>
    /// <param name="at">Monotonic time.</param>
    public void Passed(int axis, double movement, TimeSpan at)
    {
        ref var note = ref _notes[axis];
        (note.PassedKnown, note.PassedAt, note.Movement, note.Failed) = (true, at, movement, false);
        _warned[axis] = false;
        Tell(axis);
    }

    /// <summary>Faults of the brake, whoever found them, are only answered by a proof.</summary>
    public void Note(in FaultEvent fault)
    {
        var isBrakes = fault.Code is FaultCode.BrakeProofFailed or FaultCode.BrakeSlip or FaultCode.StandstillLostOnBrake or FaultCode.Brake or FaultCode.LoadHeldByTorque;
        if (isBrakes && view.IsKnown(fault.Axis) && Proof(fault.Axis) is not null && !_notes[fault.Axis].Failed)
        {
            _notes[fault.Axis].Failed = true;
            Tell(fault.Axis);
        }
    }

    public void Step()
    {
        for (var axis = 0; axis < _notes.Length; axis++)
        {
            if (Proof(axis) is null)
            {
                continue;
            }

            Remember(axis);
            NoteHeldLoad(axis);
            if (!_warned[axis] && view.IsOnline(axis) && StatusOf(axis).State == BrakeProofState.Overdue)
            {
                _warned[axis] = true;
                journal.Fault(new FaultEvent(
                    view.Now, (short)axis, (short)view.Axes[axis].Port, FaultCode.BrakeProofOverdue, 0, view[axis].State, view[axis].CommandId, view[axis].Position));
            }
        }
    }

    /// <summary>
    /// What an unproven brake forbids: moves by command. Jogging stays, as a person brings the load to where it hurts nobody; so does homing an
    /// axis that does not know its place, as it is energised by nothing else.
    /// </summary>
    public Objection? Due(int axis)
    {
        if (Proof(axis) is not { } proof)
        {
            return null;
        }

        var (state, since, due, _) = StatusOf(axis);
        var name = view.NameOf(axis);
        if (state == BrakeProofState.Failed)
        {
            return new Objection(Refusal.BrakeProofDue, axis,
                $"the brake of {name} has failed and was not proven since: support the load, have the brake seen to, then prove it with brake {name}");
        }

        if (state != BrakeProofState.Overdue || proof.WhenOverdue != OverdueProof.Refuse || -due < proof.Grace)
        {
            return null;
        }

        var last = since is { } past ? $"was last proven {Sentences.Number(past.TotalHours)} h ago, and {Sentences.Number(proof.Every!.Value.TotalHours)} h are allowed" : "is not known to have been proven";
        return new Objection(Refusal.BrakeProofDue, axis,
            $"the brake of {name} {last}: jog {name} to where a load that slips hurts nobody, then prove it with brake {name}");
    }

    private BrakeProofDefinition? Proof(int axis) => view.Axes[axis].Brake?.Proof;

    private BrakeProofStatus StatusOf(int axis) => BrakeProofStatus.Of(Proof(axis), _notes[axis], view.Now);

    /// <summary>What an earlier run wrote down; it may come late, once the wall clock is known to be right. What happened since counts more.</summary>
    private void Remember(int axis)
    {
        var memory = view.Board.ProofMemories[axis].Read();
        if (memory.Version == _memories[axis])
        {
            return;
        }

        _memories[axis] = memory.Version;
        ref var note = ref _notes[axis];
        if (memory.PassedKnown && (!note.PassedKnown || memory.PassedAt > note.PassedAt))
        {
            (note.PassedKnown, note.PassedAt, note.Movement) = (true, memory.PassedAt, memory.Movement);
            _warned[axis] = false;
        }

        note.Failed |= memory.Failed;
        Tell(axis);
    }

    /// <summary>Written down at once, as whoever starts anew must not take the torque. What a drive that is not met does is not known.</summary>
    private void NoteHeldLoad(int axis)
    {
        var held = view.HoldsLoad(axis) || (_notes[axis].LoadHeld && !view.IsOnline(axis));
        if (held != _notes[axis].LoadHeld)
        {
            _notes[axis].LoadHeld = held;
            Tell(axis);
        }
    }

    private void Tell(int axis)
    {
        _notes[axis].Version++;
        view.Board.Proofs[axis].Write(_notes[axis]);
    }
}
