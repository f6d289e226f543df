using System.Net.Security;
using System.Security.Cryptography;
using System.Security.Cryptography.X509Certificates;

namespace Supervisor.Daemon.Messages;

/// <summary>Judges a server's certificate by authorities of the machine file's choice. Its name and its times count as ever.</summary>
internal static class CertificateCheck
{
    /// <summary>The check for a connection, read anew so that a file that is put right works without a restart.</summary>
    /// <exception cref="SecretException">The file can't be read; the message says what to do.</exception>
    public static RemoteCertificateValidationCallback By(string path)
    {
        var authorities = new X509Certificate2Collection();
        try
        {
            authorities.ImportFromPemFile(path);
        }
        catch (Exception exception) when (exception is IOException or UnauthorizedAccessException or CryptographicException)
        {
            throw new SecretException($"{path} can't be read as certificates (PEM).", exception);
        }

        return (_, certificate, chain, errors) => certificate is not null
            && (errors & (SslPolicyErrors.RemoteCertificateNameMismatch | SslPolicyErrors.RemoteCertificateNotAvailable)) == 0 && LeadsTo(authorities, certificate, chain);
    }

    // Lists of revoked certificates are mostly out of reach of a machine's network: a check that waits for them would hold up every message.
    private static bool LeadsTo(X509Certificate2Collection authorities, X509Certificate certificate, X509Chain? sent)
    {
        using var chain = new X509Chain();
        chain.ChainPolicy.TrustMode = X509ChainTrustMode.CustomRootTrust;
        chain.ChainPolicy.CustomTrustStore.AddRange(authorities);
        chain.ChainPolicy.RevocationMode = X509RevocationMode.NoCheck;
        chain.ChainPolicy.DisableCertificateDownloads = true;
        chain.ChainPolicy.ApplicationPolicy.Add(new Oid("1.3.6.1.5.5.7.3.1"));
        if (sent is not null)
        {
            chain.ChainPolicy.ExtraStore.AddRange(sent.ChainElements.Select(element => element.Certificate).ToArray());
        }

        return chain.Build(certificate as X509Certificate2 ?? X509CertificateLoader.LoadCertificate(certificate.Export(X509ContentType.Cert)));
    }
}
