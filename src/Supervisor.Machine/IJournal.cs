using Supervisor.Configuration.Machines;
using Supervisor.Machine.Alarms;
using Supervisor.Machine.Api;
using Supervisor.Records.Faults;
using Supervisor.Records.Stops;

namespace Supervisor.Machine;

/// <summary>Where the coordinator tells what happened. Implementations never block and never throw: they queue.</summary>
public interface IJournal
{
    /// <summary>A fault was latched on an axis or a port.</summary>
    void Fault(in FaultEvent fault);

    /// <summary>Faults of a port's axes could not be told: more came than were taken. What an axis has latched is told all the same.</summary>
    /// <param name="port">Index in the machine file.</param>
    /// <param name="count">How many since this was last told.</param>
    /// <param name="at">Monotonic time.</param>
    void FaultsLost(int port, long count, TimeSpan at);

    /// <summary>An interlock opened (trips), closed, or was reset.</summary>
    /// <param name="interlock">Index in the machine file.</param>
    /// <param name="change">What changed.</param>
    /// <param name="inputs">The inputs that did it, as the file says them; for a reset who or what reset it.</param>
    /// <param name="at">Monotonic time.</param>
    void Interlock(int interlock, InterlockChange change, string inputs, TimeSpan at);

    /// <summary>How an axis is brought back without a person, or why not.</summary>
    void Recovery(in RecoveryNote note);

    /// <summary>A command worth keeping ended: refused, failed, or one that changed the machine's readiness.</summary>
    void Command(MachineCommand command, string holder, CommandAnswer answer, TimeSpan at);

    /// <summary>An axis was stopped, and how it went.</summary>
    void Stop(in MeasuredStop stop);

    /// <summary>A faulted axis came back, by a person or by itself.</summary>
    /// <param name="axis">Index in the machine file.</param>
    /// <param name="after">The fault it came from.</param>
    /// <param name="step">How far it came.</param>
    /// <param name="at">Monotonic time.</param>
    void Returned(int axis, FaultCode after, AxisReturn step, TimeSpan at);

    /// <summary>A drive was left unasked on purpose, and what it did.</summary>
    /// <param name="measured">What was measured.</param>
    /// <param name="holder">Who asked; empty when not known.</param>
    void Timeout(in MeasuredTimeout measured, string holder);

    /// <summary>A port's device was lost or found again.</summary>
    void Port(int port, bool open, TimeSpan at);

    /// <summary>A step in the life of an alarm that no other record tells: an acknowledgement, out of service and back, an alarm of the machine file.</summary>
    void Alarm(in AlarmNote note);
}

/// <summary>What changed on an interlock.</summary>
public enum InterlockChange : byte
{
    Opened = 1,
    Closed = 2,
    Reset = 3,

    /// <summary>Its channels differed for too long; the inputs told are the open ones.</summary>
    Discrepancy = 4,
}

/// <summary>How far a faulted axis came back.</summary>
public enum AxisReturn : byte
{
    /// <summary>Its fault is cleared.</summary>
    Cleared = 1,

    /// <summary>It is energised for the first time since.</summary>
    Ready = 2,
}

/// <summary>A step of a recovery.</summary>
/// <param name="Axis">Index in the machine file.</param>
/// <param name="After">The fault it is about.</param>
/// <param name="Change">How far it is.</param>
/// <param name="Attempt">Number of the attempt, from 1; 0 before the first.</param>
/// <param name="Attempts">Attempts the machine file allows.</param>
/// <param name="What">The same for a person, with the reason.</param>
/// <param name="At">Monotonic time.</param>
public readonly record struct RecoveryNote(int Axis, FaultCode After, RecoveryChange Change, int Attempt, int Attempts, string What, TimeSpan At)
{
    /// <summary>What is done at an attempt.</summary>
    public RecoveryAction Action { get; init; }
}

/// <summary>How far a recovery is.</summary>
public enum RecoveryChange : byte
{
    Begun = 1,

    /// <summary>One attempt failed; another follows, or the attempts are used up and it is given up.</summary>
    AttemptFailed = 2,
    Succeeded = 3,

    /// <summary>It can't be done, or not any more: a person must.</summary>
    GivenUp = 4,

    /// <summary>A person, a stop, an interlock or another fault took precedence.</summary>
    Cancelled = 5,

    /// <summary>Something stood in its way from the start.</summary>
    NotBegun = 6,
}
