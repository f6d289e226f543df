using Supervisor.Configuration.Machines;
using Supervisor.Runtime.Inputs;

namespace Supervisor.Machine.Interlocks;

/// <summary>Reads the level of a file input: true closed ('1'), false open ('0'), null when it cannot be read or says something else.</summary>
/// <param name="path">Absolute path.</param>
public delegate bool? InputFileReader(string path);

/// <summary>Brings <c>file:PATH</c> inputs to the input board, every 50 ms. What cannot be read is not written and so grows stale.</summary>
internal sealed class FileInputs
{
    private static readonly TimeSpan Interval = TimeSpan.FromMilliseconds(50);
    private readonly InputBoard _inputs;
    private readonly InputFileReader _read;
    private readonly (int Cell, string Path)[] _files;
    private TimeSpan _next = TimeSpan.MinValue;

    public FileInputs(InputBoard inputs, InputFileReader read)
    {
        _inputs = inputs;
        _read = read;
        _files = [.. inputs.Inputs
            .Where(input => input is { Source: InputSource.File, Path: not null })
            .Select(input => (inputs.IndexOf(input), input.Path!))];
    }

    public void Step(TimeSpan now)
    {
        if (_files.Length == 0 || now < _next)
        {
            return;
        }

        _next = now + Interval;
        foreach (var (cell, path) in _files)
        {
            if (_read(path) is { } closed)
            {
                _inputs.Write(cell, closed, now);
            }
        }
    }
}
