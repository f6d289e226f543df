using Supervisor.Configuration.Machines;
using Supervisor.Records.Faults;

namespace Supervisor.Runtime.Contact;

/// <summary>One register of a first contact: what a difference leads to, and what became of it.</summary>
internal sealed class ContactEntry
{
    // Once; and once more only where the first write went unanswered and the register proved unchanged.
    private const int MostStoredWrites = 2;

    public ContactEntry(Parameter parameter, DifferenceAction action, bool isFixedByName)
    {
        Parameter = parameter;
        Action = action;
        IsFixedByName = isFixedByName;
    }

    public Parameter Parameter { get; }

    public DifferenceAction Action { get; }

    /// <summary>The machine file fixes it among its <c>parameters</c>: a difference is told by its name. False for what other members set.</summary>
    public bool IsFixedByName { get; }

    /// <summary>A drive that does not take it is not met at all: what is set at every first contact anyway, such as the communication time-out.</summary>
    public bool IsEssential => !IsFixedByName && !Parameter.Field.Stored;

    /// <summary>What was done when it was last compared.</summary>
    public ParameterMeasure Measure { get; private set; }

    /// <summary>The drive's value that differed, scaled.</summary>
    public double Found { get; private set; }

    /// <summary>Times it was written since the supervisor's start, unanswered ones included.</summary>
    public int Writes { get; private set; }

    /// <summary>The last write was not answered: nobody knows whether it arrived.</summary>
    public bool IsUnanswered { get; private set; }

    /// <summary>A difference that stands: the axis may not be used with it.</summary>
    public bool Stands => Measure is ParameterMeasure.Refused or ParameterMeasure.NotTaken or ParameterMeasure.NotWrittenAgain or ParameterMeasure.HeldBack;

    /// <summary>Its difference has not been told yet.</summary>
    public bool IsToTell { get; set; }

    /// <summary>Whether it may be written once more: a memory that wears has its count.</summary>
    public bool MayWrite => !Parameter.Field.Stored || Writes == 0 || (IsUnanswered && Writes < MostStoredWrites);

    public void AsWanted() => Measure = ParameterMeasure.None;

    /// <summary>What is done about it. The same found again is not told again; a write always is, but for what every drive forgets.</summary>
    public void Settle(ParameterMeasure measure, double found)
    {
        IsToTell |= (measure == ParameterMeasure.Written ? !IsEssential : measure != Measure || found != Found);
        Measure = measure;
        Found = found;
    }

    public void Wrote(bool answered)
    {
        Writes++;
        IsUnanswered = !answered;
    }
}
