using System.Runtime.CompilerServices;

namespace Supervisor.Motion;

/// <summary>Checks of arguments that carry physical quantities.</summary>
internal static class Require
{
    /// <summary>Throws unless the value is finite and above 0.</summary>
    public static void Positive(double value, [CallerArgumentExpression(nameof(value))] string name = "")
    {
        if (!double.IsFinite(value) || value <= 0)
        {
            throw new ArgumentOutOfRangeException(name, value, $"{name} must be a finite number above 0.");
        }
    }

    /// <summary>Throws unless the value is finite.</summary>
    public static void Finite(double value, [CallerArgumentExpression(nameof(value))] string name = "")
    {
        if (!double.IsFinite(value))
        {
            throw new ArgumentOutOfRangeException(name, value, $"{name} must be a finite number.");
        }
    }
}
