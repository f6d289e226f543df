namespace Supervisor.Configuration;

/// <summary>One error of a file, told as <c>machine.json:14:22: axes[2].limits.position: …</c>.</summary>
/// <param name="File">Path as the user gave it.</param>
/// <param name="Line">Line, from 1.</param>
/// <param name="Column">Column, from 1.</param>
/// <param name="Path">Member path; empty for the file as a whole.</param>
/// <param name="Message">What is wrong, with values, limits and units, and what to do.</param>
public readonly record struct FileError(string File, int Line, int Column, string Path, string Message)
{
    /// <inheritdoc/>
    public override string ToString() => Path.Length == 0 ? $"{File}:{Line}:{Column}: {Message}" : $"{File}:{Line}:{Column}: {Path}: {Message}";
}

/// <summary>A file read whole: the value, or every error found in it (and in the files it names).</summary>
public sealed record FileResult<T>(T? Value, IReadOnlyList<FileError> Errors)
    where T : class
{
    /// <summary>True when there is a value and no error.</summary>
    public bool IsGood => Value is not null && Errors.Count == 0;
}
