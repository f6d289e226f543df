using System.ComponentModel;
using System.Diagnostics;

namespace Supervisor.History.Tests;

/// <summary>A program from outside that a test compares with.</summary>
internal static class Peer
{
    /// <summary>Runs it; false when it is not installed or fails.</summary>
    public static async Task<bool> TryAsync(string program, params string[] arguments)
    {
        try
        {
            using var process = Process.Start(new ProcessStartInfo(program, arguments) { RedirectStandardOutput = true, RedirectStandardError = true })!;
            await process.WaitForExitAsync(TestContext.Current.CancellationToken);
            return process.ExitCode == 0;
        }
        catch (Win32Exception)
        {
            return false;
        }
    }

    /// <summary>Runs it and gives its output. Skips the test when it is not installed, or fails it where peers are required.</summary>
    public static async Task<string> RunAsync(string program, params string[] arguments)
    {
        var start = new ProcessStartInfo(program, arguments) { RedirectStandardOutput = true, RedirectStandardError = true };
        Process process;
        try
        {
            process = Process.Start(start)!;
        }
        catch (Win32Exception exception)
        {
            var reason = $"{program} is not installed ({exception.Message})";
            Assert.SkipUnless(Environment.GetEnvironmentVariable("SUPERVISOR_REQUIRE_PEERS") == "1", reason);
            Assert.Fail(reason);
            throw;
        }

        using (process)
        {
            var output = process.StandardOutput.ReadToEndAsync(TestContext.Current.CancellationToken);
            var errors = await process.StandardError.ReadToEndAsync(TestContext.Current.CancellationToken);
            await process.WaitForExitAsync(TestContext.Current.CancellationToken);
            Assert.True(process.ExitCode == 0, errors);
            return await output;
        }
    }
}
