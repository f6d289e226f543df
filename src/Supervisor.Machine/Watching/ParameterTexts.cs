using System.Globalization;
using Supervisor.Configuration.Drives;
using Supervisor.Configuration.Machines;
using Supervisor.Records.Faults;
using Supervisor.Runtime;

namespace Supervisor.Machine.Watching;

/// <summary>Parameters and their differences in words.</summary>
public static class ParameterTexts
{
    /// <summary>A difference as one clause: name, both values, and what was done; empty for none.</summary>
    public static string Of(AxisDefinition axis, in ParameterDifference difference)
    {
        ArgumentNullException.ThrowIfNull(axis);
        if (difference.Measure == ParameterMeasure.None || difference.Index < 0 || difference.Index >= axis.Drive.Parameters.Count)
        {
            return "";
        }

        var field = axis.Drive.Parameters[difference.Index];
        return $"{field.Name}: the machine file has {Value(field, difference.Wanted)}, the drive {Value(field, difference.Found)}: {Of(difference.Measure)}";
    }

    /// <summary>What was done about a difference, as a clause.</summary>
    public static string Of(ParameterMeasure measure) => measure switch
    {
        ParameterMeasure.None => "as wanted",
        ParameterMeasure.Written => "written",
        ParameterMeasure.Left => "left, as the machine file says",
        ParameterMeasure.Refused => "not written, as the machine file says",
        ParameterMeasure.NotTaken => "the drive did not take it",
        ParameterMeasure.NotWrittenAgain => "a stored register, not written again and again",
        ParameterMeasure.HeldBack => "a stored register of an unknown drive, not written before the drive is accepted",
        _ => measure.ToString(),
    };

    /// <summary>A value with its unit.</summary>
    public static string Value(RegisterField field, double value)
    {
        ArgumentNullException.ThrowIfNull(field);
        var text = Tidy(value).ToString(CultureInfo.InvariantCulture);
        return field.Unit is null ? text : $"{text} {field.Unit}";
    }

    /// <summary>Without the rest that steps of a decimal scale leave: they are no exact binary numbers. 32 bits are ten digits.</summary>
    public static double Tidy(double value) => double.Parse(value.ToString("G12", CultureInfo.InvariantCulture), CultureInfo.InvariantCulture);

    /// <summary>Why an axis stays faulted by its parameters, and what to do.</summary>
    internal static string WhyNot(MachineBoard board, int axis)
    {
        var names = new List<string>();
        for (var i = 0; i < board.Parameters[axis].Known.Count; i++)
        {
            if (IsStanding(board.Parameters[axis].Known[i].Read().Measure))
            {
                names.Add(board.Machine.Axes[axis].Drive.Parameters[i].Name);
            }
        }

        return names.Count == 0
            ? "a set of parameters was loaded only in part: load it again (what its drive has already is not written twice)"
            : $"in its drive {string.Join(", ", names)} {(names.Count == 1 ? "is" : "are")} not as the machine file has it: set it there or load the axis's set";
    }

    /// <summary>True for a difference with which the axis may not be used.</summary>
    public static bool IsStanding(ParameterMeasure measure) =>
        measure is not (ParameterMeasure.None or ParameterMeasure.Written or ParameterMeasure.Left);
}
